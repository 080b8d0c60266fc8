"""What a file is, by its leading bytes, never by its name.

Photos (JPEG, PNG, WebP, HEIC) and PDF documents are taken; for everything else a clear
word says what it is and what to do. The first `HEAD_BYTES` of a file are enough.
Signatures: the formats' own specifications (ISO/IEC 10918-1, PNG, RIFF/WebP,
ISO 32000-1, ISO/IEC 14496-12 with 23008-12, GIF89a, APPNOTE for ZIP), from memory.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Literal

AcceptedType = Literal[
    "image/jpeg", "image/png", "image/webp", "image/heic", "application/pdf"
]

HEAD_BYTES = 1024

_TAKEN = "Choose a photo (JPEG, PNG, WebP or HEIC) or a PDF."
# Major brands of still pictures of HEVC (ISO/IEC 23008-12, annex B); a phone's are
# `heic`, or `mif1` with `heic` beside it.
_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis"}


def accepted_type(head: bytes) -> AcceptedType | None:
    """The media type of a file that may be attached, or None.

    Strict: the mark must stand at the very start, so that nothing passes as two kinds.
    """
    if head.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "image/webp"
    if _is_heic(head):
        return "image/heic"
    if head.startswith(b"%PDF-"):
        return "application/pdf"
    return None


def _is_heic(head: bytes) -> bool:
    """By the brands of its first box, the major one or, of `mif1`, one beside it."""
    if head[4:8] != b"ftyp":
        return False
    size = int.from_bytes(head[:4])
    others = {head[at : at + 4] for at in range(16, min(size, HEAD_BYTES), 4)}
    brand = head[8:12]
    return brand in _HEIC_BRANDS or (brand == b"mif1" and bool(others & _HEIC_BRANDS))


def refusal(head: bytes) -> str:
    """Why a file that is not accepted cannot be attached, in words for the user."""
    head = head[:HEAD_BYTES]
    if not head:
        return "This file is empty. Choose it again, or retake the photo."
    return (
        _refusal_by_signature(head)
        or _refusal_of_text(head)
        or f"This kind of file can't be attached. {_TAKEN}"
    )


_AS_PDF = "save or print it as PDF and attach that."
_UNPACK = "unzip it and attach the files inside, one by one."
_SIGNATURES: Mapping[str, tuple[bytes, ...]] = {
    "This is a GIF picture: save it as PNG or JPEG and attach that.": (
        b"GIF87a",
        b"GIF89a",
    ),
    "This is a TIFF or raw photo: save it as JPEG and attach that.": (
        b"II*\x00",
        b"MM\x00*",
    ),
    f"This is an older office document: {_AS_PDF}": (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
    ),
    f"This is a text document: {_AS_PDF}": (b"{\\rtf",),
    f"This is an archive: {_UNPACK}": (b"Rar!", b"7z\xbc\xaf\x27\x1c", b"\x1f\x8b"),
    f"This is a program, and programs can't be attached. {_TAKEN}": (
        b"MZ",
        b"#!",
        b"\x7fELF",
        b"\xfe\xed\xfa\xce",
        b"\xfe\xed\xfa\xcf",
        b"\xce\xfa\xed\xfe",
        b"\xcf\xfa\xed\xfe",
        b"\xca\xfe\xba\xbe",
    ),
}
_OFFICE_PARTS = (b"[Content_Types].xml", b"word/", b"xl/", b"ppt/", b"opendocument")


def _refusal_by_signature(head: bytes) -> str:
    if head[4:8] == b"ftyp":
        return _refusal_by_brand(head[8:12])
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        office = any(part in head for part in _OFFICE_PARTS)
        return (
            f"This is an office document: {_AS_PDF}"
            if office
            else f"This is a ZIP archive: {_UNPACK}"
        )
    if head.startswith(b"BM") and head[6:10] == bytes(4):
        return "This is a BMP picture: save it as PNG or JPEG and attach that."
    found = (word for word, marks in _SIGNATURES.items() if head.startswith(marks))
    return next(found, "")


def _refusal_by_brand(brand: bytes) -> str:
    if brand == b"mif1":
        return "This kind of picture can't be read: save it as JPEG."
    if brand in {b"avif", b"avis"}:
        return "This is an AVIF picture: save it as JPEG and attach that."
    return f"This is a video or sound file. {_TAKEN}"


# What may stand before the first element: byte order mark, declaration, comments.
_BEFORE_MARKUP = re.compile(rb"(?:\s|<\?[^>]*>|<!--.*?-->)*", re.DOTALL)
_MARKUP = re.compile(
    rb"<(?:!doctype\s+)?(svg|html|head|body|script|title|meta)\b", re.IGNORECASE
)


def _refusal_of_text(head: bytes) -> str:
    text = head.removeprefix(b"\xef\xbb\xbf")
    if text.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = text.replace(b"\0", b"")[2:]
    before = _BEFORE_MARKUP.match(text)
    first = _MARKUP.match(text, before.end() if before else 0)
    if first and first[1].lower() == b"svg":
        return "This is an SVG drawing: save it as PNG or PDF and attach that."
    if first:
        return "This is a web page: print it as PDF and attach that."
    if b"%PDF-" in text:
        return (
            "This PDF has extra data before its start: print it to a new PDF "
            "and attach that."
        )
    return ""


# --- scripts in a PDF ---------------------------------------------------------------


def _name(word: str) -> bytes:
    """A pattern for the PDF name `word`; a letter may stand as #hex (ISO 32000-1)."""
    letters = (f"(?:{letter}|#(?i:{ord(letter):02x}))" for letter in word)
    return ("/" + "".join(letters)).encode()


_END = rb"(?=[\x00\s()<>\[\]{}/%]|\Z)"
_ACTIONS = re.compile(b"(?:%b|%b)%b" % (_name("JavaScript"), _name("Launch"), _END))
_SCRIPT_ENTRY = re.compile(rb"%b[\x00\s]*[(<0-9]" % _name("JS"))
_STREAM = re.compile(rb"stream\r?\n")


def pdf_has_script(data: bytes) -> bool:
    """Whether a PDF can run something: JavaScript, or the start of a program.

    Best effort on the raw bytes: names written with #hex are seen, objects inside
    compressed streams are not (unpack those first and ask again). What opens with the
    document needs one of these actions, so a plain jump to a page is no script. The
    short entry `/JS` is looked for outside streams only, where picture data cannot
    look like it by chance.
    """
    if _ACTIONS.search(data):
        return True
    return any(_SCRIPT_ENTRY.search(part) for part in _outside_streams(data))


def _outside_streams(data: bytes) -> Iterator[bytes]:
    at = 0
    while (start := _STREAM.search(data, at)) is not None:
        end = data.find(b"endstream", start.end())
        if end < 0:
            break  # not closed: the rest is looked at whole
        yield data[at : start.start()]
        at = end + len(b"endstream")
    yield data[at:]
