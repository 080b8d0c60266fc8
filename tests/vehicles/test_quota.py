"""What a household keeps on the disk is counted whole, and bounded."""

from pathlib import Path
from uuid import UUID

import pytest

from maintenance.exchange.exports import making
from maintenance.exchange.exports.archive import file_field
from maintenance.exchange.exports.scope import our_models
from maintenance.exchange.imports import files as import_files
from maintenance.exchange.models import ExportJob, ImportJob
from maintenance.findings import photos
from maintenance.findings.models import Photo
from maintenance.households.refusals import Refused
from maintenance.packets import files as packet_files
from maintenance.packets.models import Packet
from maintenance.service_records import proof
from maintenance.service_records.models import Attachment
from maintenance.vehicles import manuals, quota, rig_photos
from maintenance.vehicles.models import Manual, RigPhoto, Spot
from maintenance.vehicles.quota import KEPT, kept_bytes
from maintenance.vehicles.uploads import CleanFile, keep_file
from tests.builders import make_household, make_rig

KEY = UUID("6f1c9a52-0000-4000-8000-000000000001")


def make_manual(rig, stored: str) -> Manual:
    return Manual.objects.create(
        rig=rig, title=stored, content_type="application/pdf", stored=stored, size=1
    )


MEGABYTE = CleanFile("a.pdf", b"x" * 1_000_000, "application/pdf")


def test_every_model_with_a_file_is_counted():
    with_files = {model for model in our_models() if file_field(model)}

    assert with_files <= {kept.model for kept in KEPT}


@pytest.mark.parametrize(
    ("model", "path_of", "fields"),
    [
        (Manual, manuals.path_of, {"stored": "a.pdf"}),
        (Spot, manuals.photo_path_of, {"photo": "a.jpg"}),
        (RigPhoto, rig_photos.path_of, {"stored": "a.jpg"}),
        (Photo, photos.path_of, {"stored": "a.jpg"}),
        (Attachment, proof.path_of, {"stored": "a.pdf"}),
        (Packet, packet_files.path_of, {"key": KEY}),
        (ImportJob, import_files.path_of, {"key": KEY}),
        (ExportJob, making.path_of, {"key": KEY}),
    ],
)
def test_path_that_is_counted_is_where_the_file_lies(model, path_of, fields, settings):
    [kept] = [each for each in KEPT if each.model is model]

    path = Path(settings.MEDIA_ROOT) / kept.path(*fields.values())

    assert path == path_of(model(**fields))


@pytest.mark.django_db
def test_kept_when_files_lie_there_then_their_bytes_of_this_household_alone():
    mine, other = make_rig(make_household()), make_rig(make_household())
    for rig in (mine, other):
        stored = keep_file(MEGABYTE, "manuals", household=rig.household)
        make_manual(rig, stored=stored)

    assert kept_bytes(mine.household) == 1_000_000


@pytest.mark.django_db
def test_file_when_the_household_is_full_then_refused_and_not_kept(
    settings, monkeypatch
):
    rig = make_rig(make_household())
    monkeypatch.setattr(quota, "GB", 1_500_000)
    settings.HOUSEHOLD_FILES_GB = 1
    make_manual(rig, stored=keep_file(MEGABYTE, "manuals", household=rig.household))

    with pytest.raises(Refused, match="used all its"):
        keep_file(MEGABYTE, "manuals", household=rig.household)

    settings.HOUSEHOLD_FILES_GB = 0
    assert keep_file(MEGABYTE, "manuals", household=rig.household)
