import pytest

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import ItemPage
from maintenance.vehicles.models import Manual
from maintenance.work_sheets.manual_pages import point_to_page, remove_page
from tests import builders


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def item(crew):
    return builders.make_item(builders.make_rig(crew.household))


def make_manual(rig, **fields):
    fields = {
        "title": "Chassis book",
        "content_type": "application/pdf",
        "stored": "x.pdf",
        "size": 1,
        "sha256": "0" * 64,
        "pages": 30,
    } | fields
    return Manual.objects.create(rig=rig, **fields)


def point(item, by, page=12, text="oil 6.5 qt", manual=None):
    manual = manual or Manual.objects.filter(rig=item.rig).first()
    manual = manual or make_manual(item.rig)
    return point_to_page(item, by=by, manual=manual, page=page, text=text)


def test_job_shows_the_page_with_its_words_and_leads_to_it(item, crew, client_as):
    made = point(item, crew)

    text = client_as(crew).get(f"/items/{item.pk}/").content.decode()

    assert f'href="/manuals/{made.manual.key}/file/#page=12"' in text
    assert "oil 6.5 qt" in text


def test_photo_of_a_placard_has_no_page_in_its_link(item, crew, client_as):
    manual = make_manual(item.rig, content_type="image/jpeg", pages=None)
    point(item, crew, page=1, manual=manual)

    text = client_as(crew).get(f"/items/{item.pk}/").content.decode()

    assert f'href="/manuals/{manual.key}/file/"' in text


def test_same_page_twice_is_one(item, crew):
    point(item, crew)
    point(item, crew)

    assert ItemPage.objects.count() == 1
    assert Manual.objects.get().notes.count() == 1


def test_page_that_is_not_there_is_refused_and_nothing_is_noted(item, crew):
    with pytest.raises(Refused, match="30 pages"):
        point(item, crew, page=31)

    assert not Manual.objects.get().notes.exists()


def test_manual_of_another_rig_is_refused(item, crew):
    other = make_manual(builders.make_rig(crew.household))

    with pytest.raises(Refused, match="another rig"):
        point(item, crew, manual=other)


def test_form_says_at_the_field_what_is_wrong(item, crew, client_as):
    manual = make_manual(item.rig)
    data = {"manual": manual.pk, "page": 31, "text": ""}

    answer = client_as(crew).post(f"/items/{item.pk}/page/", data)

    assert "30 pages" in str(answer.context["form"].errors["page"])


def test_without_a_manual_the_shelf_comes_first(item, crew, client_as):
    answer = client_as(crew).get(f"/items/{item.pk}/page/", follow=True)

    assert answer.redirect_chain[-1][0] == f"/rigs/{item.rig_id}/manuals/"
    assert "Add the manual first" in answer.content.decode()


def test_job_no_longer_points_to_a_page_and_the_note_stays(item, crew):
    made = point(item, crew)

    remove_page(made, by=crew)

    assert not ItemPage.objects.exists()
    assert Manual.objects.get().notes.exists()


def test_viewer_points_nowhere(item):
    with pytest.raises(NotAllowed):
        point(item, builders.make_member(item.rig.household, Role.VIEWER))
