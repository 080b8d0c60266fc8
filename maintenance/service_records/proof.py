"""Proof that lasts: uploads checked for what they are, made harmless, kept apart.

A photo is turned upright, shrunk and stripped of what the camera wrote into it (the
place above all). A PDF is kept byte for byte, or refused when it carries a script.
"""

import hashlib
import io
import secrets
import uuid
import warnings
from pathlib import Path

import pypdf
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from PIL import Image, ImageOps
from pypdf.errors import PyPdfError

from maintenance.core.filetypes import accepted_type, pdf_has_script, refusal
from maintenance.households.access import require
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Rig

from .models import Attachment

LARGEST_BYTES = 20_000_000
LARGEST_PIXELS = 80_000_000  # a phone's largest photo; more is a decompression bomb
LONGEST_SIDE = 2000


def hold(
    rig: Rig, *, by: Member, form_token: uuid.UUID, upload: UploadedFile
) -> Attachment:
    """Check, clean and keep one upload for the record that a form is to become."""
    require(by, Role.CREW)
    data, content_type = _harmless(upload)
    stored = f"{secrets.token_urlsafe(24)}{SUFFIXES[content_type]}"
    folder = proof_folder()
    folder.mkdir(parents=True, exist_ok=True)
    (folder / stored).write_bytes(data)
    return Attachment.objects.create(
        rig=rig,
        form_token=form_token,
        title=Path(upload.name or "file").name[:120],
        content_type=content_type,
        stored=stored,
        size=len(data),
        sha256=hashlib.sha256(data).hexdigest(),
        added_by=by,
    )


SUFFIXES = {"image/jpeg": ".jpg", "application/pdf": ".pdf"}


def proof_folder() -> Path:
    return Path(settings.MEDIA_ROOT) / "proof"


def path_of(attachment: Attachment) -> Path:
    return proof_folder() / attachment.stored


def _harmless(upload: UploadedFile) -> tuple[bytes, str]:
    size = upload.size or 0
    if size > LARGEST_BYTES:
        raise Refused(
            _("%(name)s has %(size)d MB; at most 20 MB are taken.")
            % {"name": upload.name, "size": size // 1_000_000},
            field="uploads",
        )
    data = upload.read()
    kind = accepted_type(data)
    if kind is None:
        raise Refused(f"{upload.name}: {refusal(data)}", field="uploads")
    if kind == "application/pdf":
        return _harmless_pdf(data, upload.name or ""), kind
    return _clean_photo(data, upload.name or ""), "image/jpeg"


def _clean_photo(data: bytes, name: str) -> bytes:
    """JPEG bytes, upright, shrunk, without metadata."""
    try:
        with _opened(data) as photo:
            if photo.width * photo.height > LARGEST_PIXELS:
                raise Image.DecompressionBombError
            photo.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(photo).convert("RGB")
            out = io.BytesIO()
            upright.save(out, "JPEG", quality=82, optimize=True)
    except Image.DecompressionBombError:
        raise Refused(
            _("%(name)s has too many pixels (at most 80 million).") % {"name": name},
            field="uploads",
        ) from None
    except (OSError, ValueError, SyntaxError):
        raise Refused(
            _("%(name)s cannot be read as a picture; it may be damaged.")
            % {"name": name},
            field="uploads",
        ) from None
    return out.getvalue()


def _opened(data: bytes) -> Image.Image:
    """Only the header is read yet, so that a bomb is found before it goes off."""
    with warnings.catch_warnings():
        # Pillow warns from its own, smaller limit on; ours decides.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        return Image.open(io.BytesIO(data))


def _harmless_pdf(data: bytes, name: str) -> bytes:
    """The bytes as they are, when no action or script is found in them."""
    try:
        reader = pypdf.PdfReader(io.BytesIO(data))
        scripted = pdf_has_script(data) or _acts(reader)
    except (PyPdfError, ValueError, RecursionError):
        raise Refused(
            _("%(name)s cannot be read as a PDF; it may be damaged.") % {"name": name},
            field="uploads",
        ) from None
    if scripted:
        raise Refused(
            _("%(name)s carries a script. Print it to a new PDF and send that.")
            % {"name": name},
            field="uploads",
        )
    return data


def _acts(reader: pypdf.PdfReader) -> bool:
    if reader.is_encrypted:
        return False
    root = reader.root_object
    names = root.get("/Names") or {}
    return "/AA" in root or "/JavaScript" in getattr(names, "get_object", dict)()
