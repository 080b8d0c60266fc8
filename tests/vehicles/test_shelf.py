import io

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.vehicles import manuals as shelf
from maintenance.vehicles import uploads
from maintenance.vehicles.models import Manual, PageNote, Spot
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def rig(crew):
    return builders.make_rig(crew.household)


def pdf(pages=3):
    writer = pypdf.PdfWriter()
    for _n in range(pages):
        writer.add_blank_page(100, 100)
    out = io.BytesIO()
    writer.write(out)
    return SimpleUploadedFile("book.pdf", out.getvalue())


def photo(color="gray"):
    out = io.BytesIO()
    Image.new("RGB", (40, 20), color).save(out, "JPEG")
    return SimpleUploadedFile("placard.jpg", out.getvalue())


def add(rig, by, title="Chassis book", upload=None):
    return shelf.add_manual(rig, by=by, title=title, upload=upload or pdf())


def tell(rig, by, **told):
    return shelf.tell_spot(rig, by=by, today=TODAY, name="pump_strainer", **told)


def test_book_is_kept_with_its_pages_and_digest(rig, crew):
    book = add(rig, crew)

    assert (book.content_type, book.pages) == ("application/pdf", 3)
    assert shelf.path_of(book).stat().st_size == book.size
    assert len(book.sha256) == 64


def test_manual_may_be_larger_than_proof(rig, crew, monkeypatch):
    monkeypatch.setattr(uploads, "LARGEST_BYTES", 50)

    assert add(rig, crew).size > 50


def test_manual_over_the_limit_is_refused_with_the_limit(rig, crew, monkeypatch):
    monkeypatch.setattr(shelf, "LARGEST_MANUAL", 50)

    with pytest.raises(Refused, match="Choose a file of up to") as caught:
        add(rig, crew)

    assert caught.value.field == "upload"
    assert not Manual.objects.exists()


def test_limit_of_a_manual_is_60_mb():
    assert shelf.LARGEST_MANUAL == 60_000_000


def test_two_manuals_of_one_title_are_refused(rig, crew):
    add(rig, crew)

    with pytest.raises(Refused, match="already") as caught:
        add(rig, crew)

    assert caught.value.field == "title"


def test_page_is_noted(rig, crew):
    note = shelf.note_page(add(rig, crew), by=crew, page=2, text="lug torque")

    assert str(note) == "p. 2: lug torque"


@pytest.mark.parametrize(
    ("upload", "page", "words"), [(pdf, 4, "3 pages"), (photo, 2, "1 page")]
)
def test_page_that_is_not_there_is_refused(rig, crew, upload, page, words):
    manual = add(rig, crew, upload=upload())

    with pytest.raises(Refused, match=words) as caught:
        shelf.note_page(manual, by=crew, page=page, text="lug torque")

    assert caught.value.field == "page"


def test_any_page_is_taken_where_the_pages_are_not_known(rig, crew):
    manual = add(rig, crew)
    manual.pages = None

    assert shelf.note_page(manual, by=crew, page=900, text="x").page == 900


def test_manual_taken_off_the_shelf_leaves_no_file(
    rig, crew, django_capture_on_commit_callbacks
):
    keeper = builders.make_member(rig.household)
    manual = add(rig, crew)
    shelf.note_page(manual, by=crew, page=1, text="lug torque")
    file = shelf.path_of(manual)

    with django_capture_on_commit_callbacks(execute=True):
        shelf.remove_manual(manual, by=keeper)

    assert not file.exists()
    assert not Manual.objects.exists()
    assert not PageNote.objects.exists()


def test_crew_takes_no_manual_off_the_shelf(rig, crew):
    with pytest.raises(NotAllowed):
        shelf.remove_manual(add(rig, crew), by=crew)


def test_viewer_adds_no_manual(rig):
    with pytest.raises(NotAllowed):
        add(rig, builders.make_member(rig.household, Role.VIEWER))


def test_spot_is_told_in_words_and_with_a_photo(rig, crew):
    tell(rig, crew, words="Under the dinette", upload=photo())

    spot = shelf.spots_of(rig)["pump_strainer"]
    assert spot.words == "Under the dinette"
    assert shelf.photo_path_of(spot).exists()


def test_new_photo_takes_the_place_and_the_address_of_the_old_one(
    rig, crew, django_capture_on_commit_callbacks
):
    first = tell(rig, crew, upload=photo())
    with django_capture_on_commit_callbacks(execute=True):
        second = tell(rig, crew, upload=photo("black"))

    assert not shelf.photo_path_of(first).exists()
    assert shelf.photo_path_of(second).exists()
    assert second.key != first.key
    assert Spot.objects.count() == 1


def test_changed_words_keep_the_photo(rig, crew):
    first = tell(rig, crew, upload=photo())

    assert tell(rig, crew, words="Left of the pump").photo == first.photo


def test_spot_of_which_nothing_is_told_any_more_is_gone(rig, crew):
    tell(rig, crew, upload=photo())

    assert tell(rig, crew, drop_photo=True) is None
    assert shelf.spots_of(rig) == {}


def test_pdf_is_no_photo_of_a_spot(rig, crew):
    with pytest.raises(Refused, match="Take a photo"):
        tell(rig, crew, upload=pdf())
