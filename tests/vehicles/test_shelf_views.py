import io
from uuid import uuid4

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from maintenance.households.models import Role
from maintenance.vehicles import manuals as shelf
from maintenance.vehicles.models import Manual, PageNote
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def rig(crew):
    return builders.make_rig(crew.household)


def pdf():
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_blank_page(100, 100)
    out = io.BytesIO()
    writer.write(out)
    return SimpleUploadedFile("book.pdf", out.getvalue())


def photo():
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "gray").save(out, "JPEG")
    return SimpleUploadedFile("placard.jpg", out.getvalue())


@pytest.fixture
def manual(rig, crew):
    return shelf.add_manual(rig, by=crew, title="Chassis book", upload=pdf())


def test_manual_is_added_by_the_page_and_opens_in_the_browser(rig, crew, client_as):
    browser = client_as(crew)
    data = {"title": "Chassis book", "about": "Chassis", "upload": pdf()}

    answer = browser.post(reverse("add_manual", args=[rig.pk]), data, follow=True)

    assert "Saved." in answer.content.decode()
    file = browser.get(reverse("manual_file", args=[Manual.objects.get().key]))
    assert file["Content-Type"] == "application/pdf"
    assert file["Content-Disposition"] == 'inline; filename="Chassis book.pdf"'
    assert file["X-Content-Type-Options"] == "nosniff"
    assert file["Cache-Control"] == "private, max-age=2592000"
    assert b"".join(file.streaming_content).startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("page.html", b"<html><body>", "This is a web page"),
        ("book.pdf", b"%PDF-1.7 nothing", "can&#x27;t be read as a PDF"),
        ("empty.pdf", b"", "empty"),
    ],
)
def test_file_that_is_not_taken_says_so_at_its_field(
    rig, crew, client_as, name, data, words
):
    sent = {"title": "Book", "upload": SimpleUploadedFile(name, data)}

    answer = client_as(crew).post(reverse("add_manual", args=[rig.pk]), sent)

    assert words in str(answer.context["form"].errors["upload"])
    assert "Book" in answer.content.decode()
    assert not Manual.objects.exists()


def test_limits_are_stated_before_anything_is_sent(rig, crew, client_as):
    text = client_as(crew).get(reverse("add_manual", args=[rig.pk])).content.decode()

    assert "up to 60 MB" in text
    assert "up to 20 MB" in text


def test_note_leads_to_its_page(manual, crew, client_as):
    browser = client_as(crew)
    data = {"page": "2", "text": "lug torque 140 ft·lbf"}

    answer = browser.post(
        reverse("note_page", args=[manual.key]), data, follow=True
    ).content.decode()

    assert f'href="/manuals/{manual.key}/file/#page=2"' in answer
    assert "lug torque 140 ft·lbf</a>" in answer
    assert "Page 2</span>" in answer


@pytest.mark.parametrize(
    ("page", "words"), [("3", "2 pages"), ("0", "Enter 1 or more")]
)
def test_page_that_is_not_there_is_said_at_its_field(
    manual, crew, client_as, page, words
):
    data = {"page": page, "text": "lug torque"}

    answer = client_as(crew).post(reverse("note_page", args=[manual.key]), data)

    assert words in str(answer.context["form"].errors["page"])


def posts(manual, crew):
    note = shelf.note_page(manual, by=crew, page=1, text="x")
    return {
        "remove_manual": reverse("remove_manual", args=[manual.key]),
        "remove_note": reverse("remove_note", args=[note.pk]),
    }


@pytest.mark.parametrize(
    ("name", "role", "status"),
    [
        ("remove_manual", Role.VIEWER, 403),
        ("remove_manual", Role.CREW, 403),
        ("remove_manual", Role.KEEPER, 302),
        ("remove_note", Role.VIEWER, 403),
        ("remove_note", Role.CREW, 302),
    ],
)
def test_who_may_take_away(manual, crew, client_as, name, role, status):
    url = posts(manual, crew)[name]
    member = builders.make_member(crew.household, role)

    assert client_as(member).post(url).status_code == status
    assert client_as(member).get(url).status_code == 405


@pytest.mark.parametrize("name", ["remove_manual", "remove_note"])
def test_stranger_takes_nothing_away(manual, crew, client_as, name):
    url = posts(manual, crew)[name]

    assert client_as(builders.make_member()).post(url).status_code == 404
    assert Manual.objects.exists()
    assert PageNote.objects.exists()


def test_files_are_for_members_of_the_household_only(
    manual, rig, crew, client_as, client
):
    shelf.tell_spot(rig, by=crew, today=TODAY, name="water_pump", upload=photo())
    viewer = client_as(builders.make_member(crew.household, Role.VIEWER))
    stranger = client_as(builders.make_member())

    for url in (
        reverse("manual_file", args=[manual.key]),
        reverse("spot_photo", args=[rig.spots.get().key]),
    ):
        answer = viewer.get(url)
        assert answer.status_code == 200
        assert b"".join(answer.streaming_content)
        assert stranger.get(url).status_code == 404
        assert client.get(url).status_code == 302


def test_photo_that_is_not_there_is_not_found(rig, crew, client_as):
    shelf.tell_spot(
        rig, by=crew, today=TODAY, name="water_pump", words="Under the bench"
    )

    for key in (rig.spots.get().key, uuid4()):
        assert client_as(crew).get(f"/spots/{key}/photo/").status_code == 404


@pytest.mark.parametrize("count", [3, 30])
def test_shelf_costs_the_same_queries_however_full_it_is(
    rig, crew, client_as, count, django_assert_max_num_queries
):
    for number in range(count):
        made = Manual.objects.create(
            rig=rig, title=f"Book {number}", content_type="application/pdf", size=1
        )
        PageNote.objects.create(manual=made, page=1, text="oil")
    browser = client_as(crew)

    with django_assert_max_num_queries(6):
        browser.get(reverse("manuals", args=[rig.pk]))
