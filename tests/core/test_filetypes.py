"""What a file is by its leading bytes; real files are made by Pillow and pypdf."""

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject

from maintenance.core.filetypes import (
    HEAD_BYTES,
    accepted_type,
    pdf_has_script,
    refusal,
)


def picture(kind: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (3, 2), "gray").save(out, kind)
    return out.getvalue()


def pdf(*, script: str = "") -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(72, 72)
    if script:
        writer.root_object[NameObject("/OpenAction")] = DictionaryObject(
            {
                NameObject("/S"): NameObject("/JavaScript"),
                NameObject("/JS"): TextStringObject(script),
            }
        )
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def archive(*names: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name in names:
            made.writestr(name, "x")
    return out.getvalue()


@pytest.mark.parametrize(
    ("kind", "expected"),
    [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")],
)
def test_accepted_type_of_a_real_picture(kind: str, expected: str) -> None:
    assert accepted_type(picture(kind)[:HEAD_BYTES]) == expected


@pytest.mark.parametrize(
    "head",
    [
        b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
        b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic",
        (Path(__file__).parents[1] / "vehicles/phone.heic").read_bytes(),
    ],
)
def test_accepted_type_of_a_phone_s_heic(head: bytes) -> None:
    assert accepted_type(head) == "image/heic"


def test_accepted_type_of_a_real_pdf() -> None:
    assert accepted_type(pdf()[:HEAD_BYTES]) == "application/pdf"


def _ftyp(brand: bytes) -> bytes:
    return b"\0\0\0\x18ftyp" + brand + b"\0\0\0\0mif1"


REFUSED = {
    "mif1 of another kind": (_ftyp(b"mif1"), "kind of picture can't be read"),
    "pictures in a row": (_ftyp(b"hevc"), "video or sound"),
    "avif": (_ftyp(b"avif"), "AVIF picture"),
    "movie": (_ftyp(b"isom"), "video or sound"),
    "gif": (picture("GIF"), "GIF picture"),
    "tiff": (picture("TIFF"), "TIFF"),
    "bmp": (picture("BMP"), "BMP picture"),
    "svg": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "SVG drawing"),
    "svg with declaration": (
        b"\xef\xbb\xbf<?xml version='1.0'?>\n<!-- a > b -->\n<svg/>",
        "SVG drawing",
    ),
    "svg with doctype": (b"<?xml version='1.0'?><!DOCTYPE svg PUBLIC ''>", "SVG"),
    "html": (b"\n <!doctype html><html>", "web page"),
    "html without doctype": (b"<HTML><body>", "web page"),
    "html in utf-16": ("<html>".encode("utf-16"), "web page"),
    "script": (b"<script>alert(1)</script>", "web page"),
    "zip": (archive("photo.jpg"), "ZIP archive"),
    "empty zip": (archive(), "ZIP archive"),
    "docx": (archive("[Content_Types].xml", "word/document.xml"), "office document"),
    "older office": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(40), "older office"),
    "rtf": (b"{\\rtf1\\ansi", "text document"),
    "gzip": (b"\x1f\x8b\x08" + bytes(10), "archive"),
    "exe": (b"MZ\x90\0\x03\0\0\0", "program"),
    "elf": (b"\x7fELF\x02\x01\x01" + bytes(9), "program"),
    "shell script": (b"#!/bin/sh\n", "program"),
    "pdf behind a page": (b"junk\n%PDF-1.7\n", "extra data before its start"),
    "plain text": (b"Oil changed on 3 May", "kind of file can't be"),
    "nothing": (b"", "empty"),
}


@pytest.mark.parametrize(("data", "word"), REFUSED.values(), ids=REFUSED)
def test_refusal_says_what_the_file_is(data: bytes, word: str) -> None:
    head = data[:HEAD_BYTES]
    assert accepted_type(head) is None
    assert word in refusal(head)


@pytest.mark.parametrize(
    "head",
    [
        *(
            b"\xff\xd8",
            b"\x89PNG\n",
            b"RIFF\0\0\0\0WAVE",
            b"RIFF",
            b"%PDF",
            b" %PDF-1.7",
        ),
        *(b"<html>\xff\xd8\xff", b"GIF89a\x89PNG\r\n\x1a\n"),
    ],
)
def test_accepted_type_needs_the_whole_mark_at_the_start(head: bytes) -> None:
    assert accepted_type(head) is None


@given(st.binary(max_size=64))
def test_every_file_is_taken_or_refused_with_a_sentence(head: bytes) -> None:
    assert accepted_type(head) or refusal(head).endswith((".", "!"))


# --- scripts in a PDF ---------------------------------------------------------------


def test_pdf_has_script_of_a_plain_pdf_is_false() -> None:
    assert not pdf_has_script(pdf())


def test_pdf_has_script_finds_the_script_of_a_real_pdf() -> None:
    assert pdf_has_script(pdf(script="app.alert('x');"))


@pytest.mark.parametrize(
    ("action", "expected"),
    [
        (b"<< /OpenAction << /S /JavaScript /JS (app.alert(1)) >> >>", True),
        (b"<</S/JavaScript/JS 7 0 R>>", True),
        (b"<< /S /Rendition /JS (x) >>", True),
        (b"<< /S /Rendition /JS<78> >>", True),
        (b"<< /S /Launch /F (calc) >>", True),
        (b"<< /S /J#61va#53cript >>", True),  # ISO 32000-1: #hex in a name
        (b"<< /S /#4A#61#76#61#53#63#72#69#70#74>>", True),
        (b"<< /S /#4cau#6Ech/F(x)>>", True),
        (b"<< /#4aS (x) >>", True),
        (b"<< /OpenAction [3 0 R /FitH 792] >>", False),
        (b"<< /OpenAction << /S /GoTo /D [3 0 R /Fit] >> >>", False),
        (b"<< /JSColor 3 /JavaScripts 4 /Launchpad 5 >>", False),
        (b"(How JavaScript and JS work) Tj", False),
    ],
)
def test_pdf_has_script_sees_actions_however_written(
    action: bytes, expected: bool
) -> None:
    assert pdf_has_script(b"%PDF-1.7\n1 0 obj\n" + action + b"\nendobj\n") is expected


def test_pdf_has_script_is_not_misled_by_picture_data() -> None:
    body = b"1 0 obj << /Length 9 >> stream\nab/JS (cd\nendstream endobj\n"
    assert not pdf_has_script(b"%PDF-1.7\n" + body)


@pytest.mark.parametrize(
    "action", [b"/JS (x)", b"/S /JavaScript"], ids=["not closed", "inside"]
)
def test_pdf_has_script_cannot_be_hidden_behind_a_stream(action: bytes) -> None:
    assert pdf_has_script(b"%PDF-1.7\n% stream\n" + action + b" ")


def test_pdf_has_script_of_many_open_streams_stays_linear() -> None:
    # 300,000 openings without an end: a search per opening would not come back.
    assert not pdf_has_script(b"stream\n" * 300_000)
