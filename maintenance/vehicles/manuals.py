"""The manuals shelf of a rig: books and placards, with notes on their pages."""

import uuid
from datetime import date
from pathlib import Path

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import QuerySet

from maintenance.core.words import counted
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused

from .models import Manual, PageNote, Rig, Spot
from .uploads import clean_upload, folder_of, keep_file

LARGEST_MANUAL = 60_000_000
MANUALS, SPOTS = "manuals", "spots"


def manuals_of(rig: Rig) -> QuerySet[Manual]:
    """With the notes on their pages, in a fixed number of queries."""
    return rig.manuals.prefetch_related("notes")


def lock_rig(rig: Rig) -> None:
    """One at a time, so that a name that is to be there once is looked for in peace."""
    Rig.objects.select_for_update().get(pk=rig.pk)


def path_of(manual: Manual) -> Path:
    return folder_of(MANUALS) / manual.stored


@transaction.atomic
def add_manual(
    rig: Rig, *, by: Member, title: str, upload: UploadedFile, about: str = ""
) -> Manual:
    """Put a book (up to 60 MB) or the photo of a placard on the shelf."""
    require(by, Role.CREW)
    lock_rig(rig)
    if rig.manuals.filter(title=title).exists():
        raise Refused(
            "There's already a manual with this title. Add its year or edition.",
            field="title",
        )
    file = clean_upload(upload, field="upload", largest=LARGEST_MANUAL)
    made = Manual.objects.create(
        rig=rig,
        title=title,
        about=about,
        content_type=file.content_type,
        stored=keep_file(file, MANUALS, household=rig.household),
        size=len(file.data),
        sha256=file.sha256,
        pages=file.pages,
        added_by=by,
    )
    note_activity(by, "added manual", f"{rig}: {title}")
    return made


@transaction.atomic
def remove_manual(manual: Manual, *, by: Member) -> None:
    """Off the shelf, with its notes and its file. Records do not rest on it."""
    require(by, Role.KEEPER)
    file = path_of(manual)
    manual.delete()
    transaction.on_commit(lambda: file.unlink(missing_ok=True))
    note_activity(by, "removed manual", f"{manual.rig}: {manual.title}")


@transaction.atomic
def note_page(manual: Manual, *, by: Member, page: int, text: str) -> PageNote:
    require(by, Role.CREW)
    check_page(manual, page)
    made = PageNote.objects.create(manual=manual, page=page, text=text)
    note_activity(by, "noted a page", f"{manual.title}, page {page}")
    return made


@transaction.atomic
def remove_note(note: PageNote, *, by: Member) -> None:
    require(by, Role.CREW)
    note.delete()
    note_activity(by, "removed a page note", f"{note.manual.title}, page {note.page}")


def check_page(manual: Manual, page: int) -> None:
    """Refused at `page` for a page that the manual does not have."""
    last = 1 if manual.is_image else manual.pages
    if last is not None and not 1 <= page <= last:
        raise Refused(
            f"“{manual}” has {counted(last, 'page')}, as the screen counts.",
            field="page",
        )


# --- where something is on the rig ----------------------------------------------------


def spots_of(rig: Rig) -> dict[str, Spot]:
    """What is told of a rig's places, by their names."""
    return {spot.name: spot for spot in rig.spots.all()}


def photo_path_of(spot: Spot) -> Path:
    return folder_of(SPOTS) / spot.photo


@transaction.atomic
def tell_spot(
    rig: Rig,
    *,
    by: Member,
    today: date,
    name: str,
    words: str = "",
    upload: UploadedFile | None = None,
    drop_photo: bool = False,
) -> Spot | None:
    """Say where something is. A new photo takes the place of the old one; with neither
    words nor photo nothing is told any more, and None comes back."""
    require(by, Role.CREW)
    lock_rig(rig)
    spot = rig.spots.filter(name=name).first() or Spot(rig=rig, name=name)
    old = photo_path_of(spot) if spot.photo else None
    if upload is not None:
        file = clean_upload(upload, field="upload", photos_only=True)
        spot.photo = keep_file(file, SPOTS, household=rig.household)
        spot.sha256 = file.sha256
        spot.key = uuid.uuid4()  # a new address: browsers keep the old photo a while
    elif drop_photo:
        spot.photo, spot.sha256 = "", ""
    if old is not None and old.name != spot.photo:
        transaction.on_commit(lambda: old.unlink(missing_ok=True))
    note_activity(by, "entered where it is", f"{rig}: {name}")
    spot.words, spot.told_on, spot.told_by = words, today, by
    if words or spot.photo:
        spot.save()
        return spot
    if spot.pk:
        spot.delete()
    return None
