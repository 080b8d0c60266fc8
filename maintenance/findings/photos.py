"""Photos of zones and findings: cleaned first, kept once all else is right."""

from collections.abc import Iterable
from datetime import date
from pathlib import Path

from django.core.files.uploadedfile import UploadedFile

from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Rig
from maintenance.vehicles.uploads import CleanFile, clean_upload, folder_of, keep_file

from .models import Finding, Photo

FOLDER = "walkrounds"  # as the files of before lie
MOST = 8  # photos of one post: more do not get through a bad line


def clean_photos(uploads: Iterable[UploadedFile]) -> list[CleanFile]:
    """Upright, shrunk, without metadata; Refused at `photos` for what is no photo."""
    uploads = list(uploads)
    if len(uploads) > MOST:
        raise Refused(
            f"Up to {MOST} photos at once. Add the others after saving.",
            field="photos",
        )
    return [clean_upload(one, field="photos", photos_only=True) for one in uploads]


def keep_photos(
    files: Iterable[CleanFile],
    rig: Rig,
    *,
    on: date,
    finding: Finding | None = None,
) -> list[Photo]:
    """Picked twice in one post, a photo is kept once."""
    once = {file.sha256: file for file in files}
    return [
        Photo.objects.create(
            rig=rig,
            finding=finding,
            stored=keep_file(file, FOLDER, household=rig.household),
            sha256=file.sha256,
            added_on=on,
        )
        for file in once.values()
    ]


def path_of(photo: Photo) -> Path:
    return folder_of(FOLDER) / photo.stored
