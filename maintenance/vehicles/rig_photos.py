"""The photo of a rig: one at a time, kept as every other file is."""

from datetime import date
from functools import partial
from pathlib import Path

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role

from .models import Rig, RigPhoto
from .uploads import clean_upload, folder_of, keep_file

RIGS = "rigs"


def path_of(photo: RigPhoto) -> Path:
    return folder_of(RIGS) / photo.stored


@transaction.atomic
def keep_photo(rig: Rig, *, by: Member, today: date, upload: UploadedFile) -> RigPhoto:
    """In place of the one before, if there was one."""
    require(by, Role.KEEPER)
    file = clean_upload(upload, field="upload", photos_only=True)
    _drop(rig)
    made = RigPhoto.objects.create(
        rig=rig,
        stored=keep_file(file, RIGS, household=rig.household),
        sha256=file.sha256,
        added_on=today,
    )
    note_activity(by, "added photo of rig", rig.name)
    return made


@transaction.atomic
def drop_photo(rig: Rig, *, by: Member) -> None:
    require(by, Role.KEEPER)
    _drop(rig)
    note_activity(by, "removed photo of rig", rig.name)


def _drop(rig: Rig) -> None:
    for photo in RigPhoto.objects.select_for_update().filter(rig=rig):
        file = path_of(photo)
        photo.delete()
        transaction.on_commit(partial(file.unlink, missing_ok=True))
