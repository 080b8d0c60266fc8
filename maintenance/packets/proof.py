"""Proof as the print shows it: checked against its digest, photos made small."""

import base64
import hashlib
import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PIL import Image

from maintenance.service_records.models import Attachment
from maintenance.service_records.proof import path_of

from .history.model import Proof

# Three times what a screen would show of 25 mm: sharp on paper, some 15 kB a photo.
LONGEST_SIDE = 400


def listed(attachment: Attachment) -> Proof:
    """By title and digest alone; the file is not opened."""
    return Proof(
        title=attachment.title,
        kind="photo" if attachment.is_image else "PDF",
        digest=attachment.sha256[:16],
    )


def loader(done: Callable[[], None]) -> Callable[[Attachment], Proof]:
    """Loads proof with its photo and says after each that it is done."""

    def load(attachment: Attachment) -> Proof:
        try:
            return checked(attachment, path_of(attachment))
        finally:
            done()

    return load


def checked(attachment: Attachment, path: Path) -> Proof:
    """With the small photo, or with what is wrong with the file."""
    proof = listed(attachment)
    try:
        data = path.read_bytes()
    except OSError:
        return replace(proof, problem="the file is missing")
    if hashlib.sha256(data).hexdigest() != attachment.sha256:
        return replace(proof, problem="the file isn't the one that was stored")
    if not attachment.is_image:
        return proof
    try:
        return replace(proof, photo=small_photo(data))
    except (OSError, ValueError, SyntaxError):
        return replace(proof, problem="the photo can't be shown")


def small_photo(data: bytes) -> str:
    """A photo as a data: address, shrunk."""
    with Image.open(io.BytesIO(data)) as photo:
        photo.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        photo.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        out = io.BytesIO()
        photo.convert("RGB").save(out, "JPEG", quality=72)
    return f"data:image/jpeg;base64,{base64.b64encode(out.getvalue()).decode()}"
