"""What nobody would type, and what somebody does."""

from random import Random
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile

TEXTS = (
    *("", " ", "x", "0", "-1", "1", "12", "12.5", "1,5", "1e9", "-0", "1e-400"),
    *("NaN", "-Infinity", "٣", "２", "²", "½", "１２.５", "𝟗", "1_000", "+7", "0x1F"),
    *("9" * 12, "9" * 19, "-" + "9" * 19, "9" * 40, "9" * 5000, "0." + "1" * 400),
    *("2026-02-30", "0000-00-00", "0001-01-01", "9999-12-31", "2026-13-01", "02-30"),
    *("２０２６-05-04", "2026-05-04", "2026-05-04T99:99", "1899-01-01", "2999-01"),
    *("\0", "a\0b", "\u202e", "\ufeff", "é" * 300, "🛠" * 400, "x" * 70_000),
    *("<script>alert(1)</script>", "'\"`;--", "{{ 7 }}", "%s %(x)s", "%00", "../../x"),
    *("None", "true", "on", "null", "[]", '{"a": 1}', "[[[[1]]]]", ",", ",,;", "=1+1"),
    *("LF", "LF,LF,ZZ", "odometer", "mi", "12 mi", "12 km", "America/Nowhere", "03-15"),
    *("engine_oil", "lug_recheck", "keeper", "\r\n", "a\r\nSet-Cookie: x=1", "//evil"),
)
# For a field of which nothing else is known, so that the others are looked at at all.
PLAIN = ("2026-05-04", "2026-05-01", "42400", "12", "1", "words", "x@example.org")
FILES = (
    ("a.jpg", b"", "image/jpeg"),
    ("a.jpg", b"\xff\xd8\xff\xe0 broken", "image/jpeg"),
    ("a.png", b"\x89PNG\r\n\x1a\n" + b"\0" * 40, "image/png"),
    ("a.pdf", b"%PDF-1.7\n%%EOF", "application/pdf"),
    ("a.pdf", b"%PDF-1.4\n1 0 obj<</Encrypt 2 0 R>>endobj\n", "application/pdf"),
    ("a.csv", b"Date,Work\n2024-05-01,Oil\n,,,,\n\0", "text/csv"),
    ("a.csv", b"\xff\xfe\x00\x01", "text/csv"),
    ("a.xlsx", b"PK\x03\x04 broken", "application/zip"),
    ("x" * 300 + ".jpg", b"\xff\xd8\xff", "image/jpeg"),
    ("..\\..\\a.exe", b"MZ", "application/x-msdownload"),
)


def text(chance: Random) -> str:
    return chance.choice(TEXTS)


def upload(chance: Random) -> SimpleUploadedFile:
    name, content, kind = chance.choice(FILES)
    return SimpleUploadedFile(name, content, kind)


def for_address(chance: Random, kind: str, numbers: list[int]) -> str:
    """A part of an address of this kind, which may be a row's of somebody else."""
    if kind == "UUIDConverter":
        return str(uuid4())
    if kind == "IntConverter":
        strange = ("0", "٣", "9" * 30, "9" * 19, str(2**31), str(2**63 - 1), "-1")
        number = str(chance.choice(numbers))
        return chance.choice((number, number, number, chance.choice(strange)))
    return chance.choice(("x", "engine_oil", "tire", "9" * 200, "a" * 60, "-", "_"))
