"""What a rig is called by its maker, and how it looks."""

import io
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from maintenance.exchange.exports.archive import file_field
from maintenance.exchange.exports.scope import taken_out
from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Rig, RigPhoto
from maintenance.vehicles.rig_photos import drop_photo, keep_photo, path_of
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member(role="keeper")


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def photo(color="gray", **saved):
    out = io.BytesIO()
    Image.new("RGB", (40, 20), color).save(out, "JPEG", **saved)
    return SimpleUploadedFile("rig.jpg", out.getvalue())


def keep(rig, keeper, **upload):
    return keep_photo(rig, by=keeper, today=TODAY, upload=photo(**upload))


def typed(rig, **more):
    names = ("name", "kind", "wheels", "in_service_on")
    return {name: str(getattr(rig, name)) for name in names} | more


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({}, "Motorhome"),
        ({"year": 2018}, "Motorhome, 2018"),
        (
            {"make": "Wrenfield", "model": "24", "year": 2018},
            "Wrenfield 24, motorhome, 2018",
        ),
        ({"model": "24"}, "24, motorhome"),
    ],
)
def test_rig_is_named_by_what_is_known_of_it(known, words):
    assert Rig(kind="motorhome", **known).identity == words


def test_make_model_and_photo_are_given_in_the_form_of_the_rig(rig, keeper, client_as):
    browser = client_as(keeper)
    sent = typed(rig, make="Wrenfield", model="24", year="2018", upload=photo())

    page = browser.post(reverse("change_rig", args=[rig.pk]), sent, follow=True)

    shown = page.content.decode()
    assert "Wrenfield 24, motorhome, 2018" in shown
    assert reverse("rig_photo", args=[RigPhoto.objects.get().key]) in shown


def test_photo_is_removed_in_the_form_of_the_rig(rig, keeper, client_as):
    file = path_of(keep(rig, keeper))
    url = reverse("change_rig", args=[rig.pk])

    client_as(keeper).post(url, typed(rig))
    assert RigPhoto.objects.exists()

    client_as(keeper).post(url, typed(rig, drop_photo="on"))
    assert not RigPhoto.objects.exists()
    assert Path(file).parent.name == "rigs"


def test_photo_is_kept_without_its_comments(rig, keeper):
    kept = keep(rig, keeper, comment=b"taken at the gate")

    data = path_of(kept).read_bytes()
    assert b"taken at the gate" not in data
    assert Image.open(io.BytesIO(data)).format == "JPEG"


def test_photo_takes_the_place_of_the_one_before(
    rig, keeper, django_capture_on_commit_callbacks
):
    first = keep(rig, keeper)
    with django_capture_on_commit_callbacks(execute=True):
        second = keep(rig, keeper, color="red")

    assert RigPhoto.objects.get() == second
    assert first.key != second.key
    assert not path_of(first).exists()
    assert path_of(second).exists()


def test_file_of_a_removed_photo_goes_with_it(
    rig, keeper, django_capture_on_commit_callbacks
):
    kept = keep(rig, keeper)
    with django_capture_on_commit_callbacks(execute=True):
        drop_photo(rig, by=keeper)

    assert not path_of(kept).exists()


def test_what_is_no_photo_is_refused_at_the_field_and_the_rest_is_kept(
    rig, keeper, client_as
):
    sent = typed(rig, make="Wrenfield", upload=SimpleUploadedFile("a.jpg", b"words"))

    page = client_as(keeper).post(reverse("change_rig", args=[rig.pk]), sent)

    assert "a.jpg: " in page.content.decode()
    assert 'value="Wrenfield"' in page.content.decode()
    assert Rig.objects.get(pk=rig.pk).make == ""


def test_crew_keeps_no_photo_of_the_rig(rig):
    crew = builders.make_member(rig.household, role="crew")
    with pytest.raises(NotAllowed):
        keep_photo(rig, by=crew, today=TODAY, upload=photo())


def test_pdf_is_no_photo_of_a_rig(rig, keeper):
    upload = SimpleUploadedFile("a.pdf", b"%PDF-1.4\n")

    with pytest.raises(Refused) as caught:
        keep_photo(rig, by=keeper, today=TODAY, upload=upload)

    assert caught.value.field == "upload"


def test_photo_is_shown_to_its_household_alone(rig, keeper, client_as):
    key = keep(rig, keeper).key
    viewer = builders.make_member(rig.household, role="viewer")
    stranger = builders.make_member()

    shown = client_as(viewer).get(reverse("rig_photo", args=[key]))

    assert b"".join(shown.streaming_content).startswith(b"\xff\xd8")
    assert shown["Content-Type"] == "image/jpeg"
    assert shown["X-Content-Type-Options"] == "nosniff"
    for member, asked in ((stranger, key), (viewer, uuid4())):
        answer = client_as(member).get(reverse("rig_photo", args=[asked]))
        assert answer.status_code == 404


def test_photo_is_taken_out_with_the_household():
    assert RigPhoto in taken_out()
    assert file_field(RigPhoto) == "stored"


def test_kind_is_chosen_already_where_a_drawing_led_to_the_form(keeper, client_as):
    page = client_as(keeper).get(reverse("add_rig"), {"kind": "fifth_wheel"})

    assert '<option value="fifth_wheel" selected>' in page.content.decode()
