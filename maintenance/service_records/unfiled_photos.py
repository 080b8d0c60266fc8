"""Snap now, sort later: photos that wait, unfiled, until somebody has the time."""

import io
from collections.abc import Iterable, Sequence
from functools import partial
from pathlib import Path
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import QuerySet
from PIL import Image

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Rig
from maintenance.vehicles.uploads import clean_upload, keep_file, whole_file

from .models import Attachment, ServiceRecord, UnfiledPhoto
from .proof import FOLDER, proof_folder

THUMB = 320  # pixels of the longest side
MOST_AT_ONCE = 20


def is_key(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True


def unfiled(household: Household) -> QuerySet[UnfiledPhoto]:
    return UnfiledPhoto.objects.filter(household=household).select_related(
        "rig", "added_by"
    )


def keep_snaps(
    household: Household,
    *,
    by: Member,
    uploads: Sequence[UploadedFile],
    rig: Rig | None = None,
) -> tuple[list[UnfiledPhoto], list[str]]:
    """Keep what can be kept; the snaps, and in words why the others are refused.

    Each stands for itself: over a bad line half of them is better than none. The same
    picture sent again is not kept twice.
    """
    require(by, Role.CREW)
    if len(uploads) > MOST_AT_ONCE:
        raise Refused(f"Choose at most {MOST_AT_ONCE} at a time.", field="photos")
    kept, refused = [], []
    for upload in uploads:
        try:
            kept.append(_keep(household, by, upload, rig))
        except Refused as refusal:
            refused.append(refusal.text)
    return kept, refused


@transaction.atomic
def _keep(
    household: Household, by: Member, upload: UploadedFile, rig: Rig | None
) -> UnfiledPhoto:
    file = clean_upload(upload, field="photos")
    known = UnfiledPhoto.objects.filter(household=household, sha256=file.sha256).first()
    return known or UnfiledPhoto.objects.create(
        household=household,
        rig=rig,
        title=Path(file.name).name[:120],
        content_type=file.content_type,
        stored=keep_file(file, FOLDER, household=household),
        size=len(file.data),
        sha256=file.sha256,
        added_by=by,
    )


@transaction.atomic
def file_snaps(
    record: ServiceRecord, *, by: Member, snaps: Iterable[UnfiledPhoto]
) -> list[Attachment]:
    """Make snaps the proof of a record that was just made.

    A key and a stored file stay the same. Of two members filing the same snap at once,
    the second finds it gone.
    """
    require(by, Role.CREW)
    made = []
    for snap in snaps:
        if snap.household_id != record.rig.household_id:
            raise Refused("You can only file your own photos.")
        gone, _rows = UnfiledPhoto.objects.filter(pk=snap.pk).delete()
        if gone:
            made.append(_filed(record, snap))
    if made:
        note_activity(by, "filed proof", f"{record}: {len(made)}")
    return made


def _filed(record: ServiceRecord, snap: UnfiledPhoto) -> Attachment:
    return Attachment.objects.create(
        rig=record.rig,
        record=record,
        form_token=record.form_token,
        key=snap.key,
        title=snap.title,
        content_type=snap.content_type,
        stored=snap.stored,
        size=snap.size,
        sha256=snap.sha256,
        added_by=snap.added_by,
    )


@transaction.atomic
def throw_away(snaps: Iterable[UnfiledPhoto], *, by: Member) -> int:
    """The rows and, once that is certain, the files; says how many."""
    require(by, Role.CREW)
    gone = [s for s in snaps if UnfiledPhoto.objects.filter(pk=s.pk).delete()[0]]
    paths = [proof_folder() / snap.stored for snap in gone]
    for path in paths:
        transaction.on_commit(partial(path.unlink, missing_ok=True))
    if gone:
        note_activity(by, "deleted unfiled photos", str(len(gone)))
    return len(gone)


def thumbnail(snap: UnfiledPhoto) -> bytes:
    """A small JPEG of a photo, made anew each time: a list shows it once."""
    path = proof_folder() / snap.stored
    with (
        whole_file(path, name=snap.title, sha256=snap.sha256) as file,
        Image.open(file) as photo,
    ):
        photo.draft("RGB", (THUMB, THUMB))  # reads a fraction of a large JPEG
        photo.thumbnail((THUMB, THUMB))
        out = io.BytesIO()
        photo.save(out, "JPEG", quality=70)
    return out.getvalue()
