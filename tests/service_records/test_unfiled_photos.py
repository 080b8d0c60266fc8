"""Snap now, sort later: photos land, wait, are filed or thrown away."""

import io
import re
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.service_records.amending import add_proof
from maintenance.service_records.models import Attachment, ServiceRecord, UnfiledPhoto
from maintenance.service_records.proof import proof_folder
from maintenance.service_records.services import void_record
from maintenance.service_records.unfiled_photos import (
    file_snaps,
    keep_snaps,
    throw_away,
)
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def photo(color="gray", name="IMG_1.jpg"):
    out = io.BytesIO()
    Image.new("RGB", (400, 200), color).save(out, "JPEG")
    return SimpleUploadedFile(name, out.getvalue())


def keep(keeper, *uploads):
    return keep_snaps(keeper.household, by=keeper, uploads=uploads)[0]


def record_on(rig, by):
    return builders.log_work(
        rig,
        by=by,
        today=TODAY,
        form_token=uuid4(),
        on=TODAY,
        lines=[Line("Tires")],
        doer="Ada",
    )


def test_several_land_at_once_and_one_that_lies_is_named(client_as, keeper):
    lie = SimpleUploadedFile("invoice.pdf", b"MZ\x90\x00 not a pdf")

    answer = client_as(keeper).post(
        reverse("snaps"), {"photos": [photo(), photo("red"), lie]}, follow=True
    )

    page = answer.content.decode()
    assert UnfiledPhoto.objects.count() == 2
    assert "2 photos or files saved" in page
    assert "invoice.pdf: This is a program" in page


def test_same_photo_sent_again_over_a_bad_line_is_one(keeper):
    keep(keeper, photo())
    keep(keeper, photo())

    assert UnfiledPhoto.objects.count() == 1


def test_damaged_heic_is_refused_in_words(keeper):
    # ISO/IEC 14496-12: a file type box whose major brand is heic
    heic = SimpleUploadedFile("IMG_2.HEIC", b"\x00\x00\x00\x18ftypheic" + bytes(99))

    kept, refused = keep_snaps(keeper.household, by=keeper, uploads=[heic])

    assert not kept
    assert "IMG_2.HEIC can't be read as a picture" in refused[0]


def test_filed_snap_is_proof_with_the_same_key_and_waits_no_more(keeper, rig):
    (snap,) = keep(keeper, photo())

    (made,) = file_snaps(record_on(rig, keeper), by=keeper, snaps=[snap])

    assert (made.key, made.stored, made.sha256) == (snap.key, snap.stored, snap.sha256)
    assert not UnfiledPhoto.objects.exists()
    assert (proof_folder() / made.stored).exists()


def test_two_who_file_the_same_snap_make_one_proof(keeper, rig):
    (snap,) = keep(keeper, photo())
    stale = UnfiledPhoto.objects.get()
    record = record_on(rig, keeper)

    file_snaps(record, by=keeper, snaps=[snap])
    file_snaps(record, by=keeper, snaps=[stale])

    assert Attachment.objects.count() == 1


def test_snap_of_another_household_is_not_filed(keeper, rig):
    stranger = builders.make_member()
    (snap,) = keep(stranger, photo())

    with pytest.raises(Refused, match="only file your own"):
        file_snaps(record_on(rig, keeper), by=keeper, snaps=[snap])


def test_thrown_away_the_file_goes_too(keeper, django_capture_on_commit_callbacks):
    (snap,) = keep(keeper, photo())

    with django_capture_on_commit_callbacks(execute=True):
        assert throw_away([snap], by=keeper) == 1

    assert not (proof_folder() / snap.stored).exists()


def test_viewer_may_not_take_photos_in(keeper):
    viewer = builders.make_member(keeper.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        keep(viewer, photo())


def test_ticked_snaps_come_along_into_the_form_and_onto_the_record(
    client_as, keeper, rig
):
    first, other = keep(keeper, photo(), photo("red"))
    client = client_as(keeper)

    to_form = client.post(
        reverse("sort_snaps"), {"snap": [first.key], "do": "record", "rig": rig.pk}
    )
    page = client.get(to_form["Location"]).content.decode()
    assert f'value="{first.key}" checked' in page

    client.post(
        reverse("record_work", args=[rig.pk]),
        {
            "form_token": uuid4(),
            "on": "2026-05-04",
            "done_by": "member",
            "doer": "Ada",
            "wheels-unit": "ft·lbf",
            "lines-TOTAL_FORMS": "1",
            "lines-INITIAL_FORMS": "0",
            "lines-0-title": "Tires",
            "lines-0-outcome": "done",
            "used-TOTAL_FORMS": "0",
            "used-INITIAL_FORMS": "0",
            "snap": [first.key],
        },
    )
    assert ServiceRecord.objects.get().attachments.get().key == first.key
    assert UnfiledPhoto.objects.get() == other


def test_snap_is_served_to_its_household_alone(client_as, keeper):
    (snap,) = keep(keeper, photo())
    url = reverse("snap", args=[snap.key])

    assert client_as(builders.make_member()).get(url).status_code == 404
    small = client_as(keeper).get(url, {"small": ""})
    assert Image.open(io.BytesIO(small.content)).size == (320, 160)
    assert small["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("page", ["due", "log"])
def test_due_and_log_say_how_many_wait(client_as, keeper, page):
    keep(keeper, photo(), photo("red"))

    shown = client_as(keeper).get(reverse(page)).content.decode()

    words = " ".join(re.sub(r"<[^>]*>", " ", shown).split())
    assert "2 photos to file" in words or "Photos to file: 2" in words


def test_nothing_ticked_is_said(client_as, keeper):
    client = client_as(keeper)

    answer = client.post(
        reverse("sort_snaps"), {"do": "throw", "snap": "x"}, follow=True
    )

    assert "Check the photos first" in answer.content.decode()


def test_snap_is_filed_with_a_record_that_is_there_and_it_says_so(
    client_as, keeper, rig
):
    (snap,) = keep(keeper, photo())
    record = record_on(rig, keeper)
    data = {"do": "add", "snap": [snap.key], "record": record.pk, "why": "Found it"}

    client_as(keeper).post(reverse("sort_snaps"), data)

    assert record.attachments.get().key == snap.key
    says = record.links.last().says
    assert (says["kind"], says["why"]) == ("amended", "Found it")


def test_snap_is_filed_with_no_record_of_strangers(client_as, keeper, rig):
    (snap,) = keep(keeper, photo())
    stranger = builders.make_member(builders.make_household(name="Birch"))
    other = builders.make_rig(stranger.household)
    record = record_on(other, stranger)
    data = {"do": "add", "snap": [snap.key], "record": record.pk}

    answer = client_as(keeper).post(reverse("sort_snaps"), data)

    assert answer.status_code == 404
    assert not record.attachments.exists()


def test_snap_is_not_added_to_a_void_record(keeper, rig):
    (snap,) = keep(keeper, photo())
    record = record_on(rig, keeper)
    void_record(record, by=keeper, today=record.on, why="Wrong rig")
    record.refresh_from_db()

    with pytest.raises(Refused, match="void"):
        add_proof(record, by=keeper, snaps=[snap], why="Late")
