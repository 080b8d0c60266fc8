"""Proof that lasts: photos and PDFs held for a form until its record is made."""

import uuid
from datetime import datetime, timedelta
from pathlib import Path

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from maintenance.households.access import require
from maintenance.households.models import Member, Role
from maintenance.vehicles.manuals import lock_rig
from maintenance.vehicles.models import Rig
from maintenance.vehicles.uploads import clean_upload, folder_of, keep_file

from .models import Attachment

FOLDER = "proof"
HELD_FOR = timedelta(days=14)


@transaction.atomic
def hold(
    rig: Rig, *, by: Member, form_token: uuid.UUID, upload: UploadedFile
) -> Attachment:
    """Check, clean and keep one upload for the record that a form is to become. Sent
    twice with a form, a file is kept once."""
    require(by, Role.CREW)
    file = clean_upload(upload, field="uploads")
    lock_rig(rig)
    held = Attachment.objects.filter(form_token=form_token, sha256=file.sha256)
    return held.filter(rig=rig).first() or Attachment.objects.create(
        rig=rig,
        form_token=form_token,
        title=Path(file.name).name[:120],
        content_type=file.content_type,
        stored=keep_file(file, FOLDER, household=rig.household),
        size=len(file.data),
        sha256=file.sha256,
        added_by=by,
    )


def proof_folder() -> Path:
    return folder_of(FOLDER)


def path_of(attachment: Attachment) -> Path:
    return proof_folder() / attachment.stored


def forget_abandoned(now: datetime) -> int:
    """Remove what was held for a form that became no record; says how many files."""
    rows = Attachment.objects.filter(record=None, added_at__lt=now - HELD_FOR)
    gone = list(rows)
    for attachment in gone:
        # Once more by its state: a record may have taken it just now.
        if rows.filter(pk=attachment.pk).delete()[0]:
            path_of(attachment).unlink(missing_ok=True)
    return len(gone)
