"""Files that people send: checked for what they are, made harmless, kept apart.

A photo is turned upright, shrunk and stripped of what the camera or a person wrote into
it (the place above all). A PDF is kept byte for byte, or refused when it carries a
script or cannot be looked into.
Each lies under a name nobody can guess, below the data, and is served by a view that
checks who asks.
"""

import errno
import hashlib
import io
import secrets
import shutil
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import pi_heif
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse
from PIL import Image, ImageOps

from maintenance.core.filetypes import accepted_type, refusal
from maintenance.disk import put_file
from maintenance.households.models import Household
from maintenance.households.refusals import Missing, Refused

from .quota import refuse_full

LARGEST_BYTES = 20_000_000
# Photos and documents leave so much of the disk to everything else, so that readings
# and records can still be written when they no longer fit.
LEFT_FREE = 100_000_000
LARGEST_PIXELS = 80_000_000  # a phone's largest photo; more is a decompression bomb
LONGEST_SIDE = 2000
NO_ROOM = {errno.ENOSPC, errno.EDQUOT}
SUFFIXES = {"image/jpeg": ".jpg", "application/pdf": ".pdf"}
PDF = "application/pdf"
DAY = 24 * 3600
# Each kind by its own decoder alone.
DECODERS = {
    "image/jpeg": "JPEG",
    "image/png": "PNG",
    "image/webp": "WEBP",
    "image/heic": "HEIF",
}
pi_heif.register_heif_opener()


@dataclass(frozen=True, slots=True)
class CleanFile:
    """A file that may be kept. `pages` only where a PDF tells them."""

    name: str
    data: bytes
    content_type: str
    pages: int | None = None

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


def clean_upload(
    upload: UploadedFile,
    *,
    field: str,
    largest: int = LARGEST_BYTES,
    photos_only: bool = False,
) -> CleanFile:
    """The upload made harmless; Refused at `field` says in words why it is not taken.

    `largest` is the limit in bytes; photos always have that of a photo.
    """
    name = upload.name or "file"
    try:
        _refuse_size(upload, name, largest)
        if free_bytes() < LEFT_FREE + (upload.size or 0):
            raise Refused(_no_room(name))
        data = upload.read()
        kind = accepted_type(data)
        if kind is None:
            raise Refused(f"{name}: {refusal(data)}")
        if kind != PDF:
            _refuse_size(upload, name, LARGEST_BYTES)
            return CleanFile(name, _clean_photo(data, name, kind), "image/jpeg")
        if photos_only:
            raise Refused(f"{name} is a PDF. Take a photo here.")
        # Loaded with the first PDF: it weighs 20 MB in each process.
        from .sent_pdf import pages_of_harmless_pdf  # noqa: PLC0415

        return CleanFile(name, data, PDF, pages_of_harmless_pdf(data, name))
    except Refused as refused:
        raise Refused(refused.text, field=field) from None


def keep_file(file: CleanFile, folder: str, *, household: Household) -> str:
    """Put it on the disk, below the data; the name it is stored under. Refused when the
    household keeps as much as it may, or the disk has no room for it."""
    refuse_full(household, len(file.data))
    stored = f"{secrets.token_urlsafe(24)}{SUFFIXES[file.content_type]}"
    try:
        put_file(folder_of(folder) / stored, file.data)
    except OSError as error:
        if error.errno not in NO_ROOM:
            raise
        raise Refused(_no_room(file.name)) from None
    return stored


def _no_room(name: str) -> str:
    return (
        f"{name} wasn't saved: the disk of Rigsite's computer is nearly full. "
        "Save without it, and add it when there's room."
    )


def free_bytes() -> int:
    """How much of the disk that holds the data is free."""
    return shutil.disk_usage(settings.DATA).free


def folder_of(folder: str) -> Path:
    return Path(settings.MEDIA_ROOT) / folder


def whole_file(path: Path, *, name: str, sha256: str) -> BinaryIO:
    """A kept file, open, held against the digest of what was stored. Missing says in
    words what is wrong: half a photo must not be shown as if it were the photo."""
    try:
        file = path.open("rb")
    except FileNotFoundError:
        raise Missing(
            f"“{name}” is missing: its file is no longer on the disk. Restore "
            "it from a backup."
        ) from None
    except OSError as error:
        raise Missing(f"“{name}” can't be read: {error.strerror}.") from None
    try:
        if sha256 and hashlib.file_digest(file, "sha256").hexdigest() != sha256:
            raise ValueError
        file.seek(0)
    except (OSError, ValueError):
        file.close()
        raise Missing(
            f"“{name}” is damaged on the disk: it's not the file that was "
            "stored. Restore it from a backup."
        ) from None
    return file


def file_answer(
    path: Path,
    *,
    content_type: str,
    name: str,
    inline: bool,
    sha256: str,
    keep_for: int = 0,
) -> FileResponse:
    """A kept file for a member of its household; the caller has checked that.

    `keep_for`: how many seconds the browser may show it again without asking. Proof
    tells of people and places, so a browser that others use, too, keeps none.
    """
    answer = FileResponse(
        whole_file(path, name=name, sha256=sha256),
        content_type=content_type,
        filename=name,
        as_attachment=not inline,
    )
    answer["X-Content-Type-Options"] = "nosniff"
    kept = f"private, max-age={keep_for}" if keep_for else "no-store"
    answer["Cache-Control"] = kept
    return answer


def _refuse_size(upload: UploadedFile, name: str, largest: int) -> None:
    size = upload.size or 0
    if size > largest:
        raise Refused(
            f"{name} is {size // 1_000_000} MB. Choose a file of up to "
            f"{largest // 1_000_000} MB."
        )


def _clean_photo(data: bytes, name: str, kind: str) -> bytes:
    """JPEG bytes, upright, shrunk, without metadata."""
    try:
        with _opened(data, kind) as photo:
            if photo.width * photo.height > LARGEST_PIXELS:
                raise Image.DecompressionBombError
            photo.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(photo).convert("RGB")
            upright.info.clear()  # or comments would be written again
            out = io.BytesIO()
            upright.save(out, "JPEG", quality=82, optimize=True)
    except Image.DecompressionBombError:
        raise Refused(
            f"{name} has too many pixels. Choose a picture of up to 80 million."
        ) from None
    except (OSError, ValueError, SyntaxError, EOFError, RuntimeError):
        raise Refused(
            f"{name} can't be read as a picture; it may be damaged. Choose "
            "another file."
        ) from None
    return out.getvalue()


def _opened(data: bytes, kind: str) -> Image.Image:
    """Only the header is read yet, so that a bomb is found before it goes off."""
    with warnings.catch_warnings():
        # Pillow warns from its own, smaller limit on; ours decides.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        return Image.open(io.BytesIO(data), formats=[DECODERS[kind]])
