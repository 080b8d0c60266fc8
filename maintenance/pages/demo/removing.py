"""Removing the demo: all rows, files and logins of the household, and nobody else's."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path

from django.contrib.auth import get_user_model
from django.db import transaction

from maintenance.components.models import Component, Fitting
from maintenance.exchange.imports.files import path_of as brought_path
from maintenance.exchange.models import ImportedRow, ImportJob
from maintenance.findings.models import Finding, Photo
from maintenance.findings.photos import path_of as photo_path
from maintenance.households.models import Household
from maintenance.packets.files import path_of as packet_path
from maintenance.packets.models import Packet
from maintenance.service_records.models import (
    Attachment,
    ChainLink,
    Merge,
    ServiceRecord,
    UnfiledPhoto,
)
from maintenance.service_records.proof import path_of as proof_path
from maintenance.service_records.proof import proof_folder
from maintenance.vehicles import manuals as shelf
from maintenance.vehicles.models import Manual, RigPhoto, Spot
from maintenance.vehicles.rig_photos import path_of as rig_photo_path
from maintenance.walkrounds.models import WalkRound


@transaction.atomic
def remove_demo(household: Household) -> None:
    """The whole demo household with its files and logins. No other household's."""
    if not household.is_demo:
        raise ValueError(f"{household} is no demo")
    files = list(_files(household))
    users = list(household.members.values_list("user_id", flat=True))
    _free(household)
    household.rigs.all().delete()
    household.delete()
    get_user_model().objects.filter(pk__in=users).delete()
    transaction.on_commit(partial(_delete, files))


def _files(household: Household) -> Iterator[Path]:
    of_rigs = {"rig__household": household}
    yield from map(proof_path, Attachment.objects.filter(**of_rigs))
    for snap in UnfiledPhoto.objects.filter(household=household):
        yield proof_folder() / snap.stored
    yield from map(packet_path, Packet.objects.for_household(household))
    yield from map(shelf.path_of, Manual.objects.filter(**of_rigs))
    for spot in Spot.objects.filter(**of_rigs).exclude(photo=""):
        yield shelf.photo_path_of(spot)
    yield from map(rig_photo_path, RigPhoto.objects.filter(**of_rigs))
    yield from map(photo_path, Photo.objects.filter(**of_rigs))
    yield from map(brought_path, ImportJob.objects.for_household(household))


def _free(household: Household) -> None:
    """What protects others goes first."""
    of_rigs = {"rig__household": household}
    ImportedRow.objects.filter(**of_rigs).delete()
    ImportJob.objects.filter(**of_rigs).delete()
    Finding.objects.filter(**of_rigs).delete()
    WalkRound.objects.filter(**of_rigs).delete()
    ChainLink.objects.filter(**of_rigs).delete()
    Merge.objects.filter(record__rig__household=household).delete()
    Attachment.objects.filter(**of_rigs).delete()
    ServiceRecord.objects.for_household(household).update(merged_into=None)
    ServiceRecord.objects.for_household(household).delete()
    Fitting.objects.filter(**of_rigs).delete()
    Component.objects.for_household(household).delete()


def _delete(files: list[Path]) -> None:
    for file in files:
        file.unlink(missing_ok=True)
