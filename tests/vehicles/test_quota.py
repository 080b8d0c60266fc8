"""What a household keeps on the disk is counted whole, and bounded."""

import pytest

from maintenance.exchange.exports.archive import file_field
from maintenance.exchange.exports.scope import our_models
from maintenance.households.refusals import Refused
from maintenance.vehicles import quota
from maintenance.vehicles.models import Manual
from maintenance.vehicles.quota import KEPT, kept_bytes, refuse_full
from maintenance.vehicles.uploads import CleanFile, keep_file
from tests.builders import make_household, make_rig


def make_manual(rig, stored: str) -> Manual:
    return Manual.objects.create(
        rig=rig, title=stored, content_type="application/pdf", stored=stored, size=1
    )


MEGABYTE = CleanFile("a.pdf", b"x" * 1_000_000, "application/pdf")


def test_every_model_with_a_file_is_counted():
    with_files = {model for model in our_models() if file_field(model)}

    assert with_files <= {kept.model for kept in KEPT}


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

    with pytest.raises(Refused, match="all it may"):
        keep_file(MEGABYTE, "manuals", household=rig.household)

    settings.HOUSEHOLD_FILES_GB = 0
    assert keep_file(MEGABYTE, "manuals", household=rig.household)


@pytest.mark.django_db
def test_file_when_the_disk_is_nearly_full_then_records_and_mail_keep_room(monkeypatch):
    monkeypatch.setattr(quota, "LEAST_FREE", 10**18)

    with pytest.raises(Refused, match="nearly full"):
        refuse_full(make_household(), 1)
