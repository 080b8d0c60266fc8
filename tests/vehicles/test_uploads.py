"""What is taken, by size and kind; the cleaning itself is tested with proof."""

import contextlib
import io
from pathlib import Path

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

from maintenance.households.refusals import Refused
from maintenance.vehicles import sent_pdf, uploads
from maintenance.vehicles.uploads import clean_upload


def take(data, name="file", **rules):
    return clean_upload(SimpleUploadedFile(name, data), field="file", **rules)


def pdf(pages=1, **root):
    writer = pypdf.PdfWriter()
    for _n in range(pages):
        writer.add_blank_page(100, 100)
    for name, value in root.items():
        writer.root_object[NameObject(f"/{name}")] = value
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def photo():
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "gray").save(out, "PNG")
    return out.getvalue()


def action(kind):
    return DictionaryObject({NameObject("/S"): NameObject(f"/{kind}")})


def test_pages_of_a_pdf_are_counted():
    assert take(pdf(3)).pages == 3


def test_photo_has_no_pages():
    assert take(photo()).pages is None


def encrypted(password, algorithm, change=lambda writer, page: None):
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(pdf()))
    change(writer, writer.pages[0])
    writer.encrypt(password, "owner", algorithm=algorithm)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


ALGORITHMS = ["RC4-40", "RC4-128", "AES-128", "AES-256-R5", "AES-256"]


@pytest.mark.parametrize("algorithm", ALGORITHMS)
def test_pdf_with_a_password_is_refused_in_words(algorithm):
    with pytest.raises(Refused, match="locked with a password"):
        take(encrypted("secret", algorithm), "invoice.pdf")


@pytest.mark.parametrize("algorithm", ALGORITHMS)
def test_pdf_encrypted_without_a_password_is_looked_at_and_kept_as_it_is(algorithm):
    data = encrypted("", algorithm)

    assert take(data).pages == 1
    assert take(data).data == data
    with pytest.raises(Refused, match="files hidden"):
        take(encrypted("", algorithm, embedded_file))
    with pytest.raises(Refused, match="script"):
        take(encrypted("", algorithm, acting_page))


def test_pdf_of_an_unknown_encryption_is_refused_in_words():
    odd = encrypted("", "RC4-128").replace(b"/Standard", b"/Abnormal")

    with pytest.raises(Refused, match=r"damaged|locked"):
        take(odd)


HEIC = (Path(__file__).parent / "phone.heic").read_bytes()


def test_photo_of_a_phone_is_kept_upright_without_place_and_camera():
    """The file says: 96 by 64, turned by 90 degrees, taken at 40.5° north."""
    kept = take(HEIC, "IMG_1.HEIC")

    with Image.open(io.BytesIO(kept.data)) as photo:
        assert (photo.format, photo.size) == ("JPEG", (64, 96))
        assert not photo.getexif()
    assert b"Maker" in HEIC
    assert b"Maker" not in kept.data


@pytest.mark.parametrize("at", range(0, len(HEIC), 97))
def test_damaged_heic_is_a_photo_or_a_clear_word(at):
    for data in (HEIC[:at], HEIC[:at] + b"\xff\0\xa5" + HEIC[at + 3 :]):
        with contextlib.suppress(Refused):
            assert take(data).content_type == "image/jpeg"


def commented(kind):
    out = io.BytesIO()
    picture = Image.new("RGB", (40, 30), "teal")
    if kind == "JPEG":
        exif = picture.getexif()
        exif[0x010F] = "Maker and number"
        picture.save(out, kind, comment=b"the owner's address", exif=exif.tobytes())
    else:
        text = PngInfo()
        text.add_text("Comment", "the owner's address")
        text.add_text("comment", "the owner's address")
        text.add_itxt("XML:com.adobe.xmp", "Maker and number")
        picture.save(out, kind, pnginfo=text)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_what_was_written_into_a_photo_is_gone(kind):
    data = commented(kind)
    assert b"the owner's address" in data
    assert b"Maker and number" in data

    kept = take(data).data

    assert b"the owner's address" not in kept
    assert b"Maker and number" not in kept


def test_larger_limit_is_for_documents_alone(monkeypatch):
    monkeypatch.setattr(uploads, "LARGEST_BYTES", 50)

    assert take(pdf(), largest=60_000_000).pages == 1
    with pytest.raises(Refused, match="up to 0 MB"):
        take(photo(), largest=60_000_000)


def test_refusal_is_said_at_the_field_that_asked():
    with pytest.raises(Refused, match=r"pump\.txt: This kind of file") as caught:
        take(b"words", "pump.txt")

    assert caught.value.field == "file"


def test_pdf_is_refused_where_a_photo_is_asked_for():
    with pytest.raises(Refused, match="Take a photo"):
        take(pdf(), photos_only=True)


@pytest.mark.parametrize("kind", ["JavaScript", "Launch"])
def test_action_that_opens_with_the_document_is_refused(monkeypatch, kind):
    # As if it lay in a compressed stream, where the raw bytes do not show it.
    monkeypatch.setattr(sent_pdf, "pdf_has_script", lambda data: False)

    with pytest.raises(Refused, match="contains a script"):
        take(pdf(OpenAction=action(kind)))


def pdf_with(change):
    """A PDF of one page that `change` may alter."""
    writer = pypdf.PdfWriter()
    change(writer, writer.add_blank_page(200, 200))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def launching_note(writer, page):
    note = DictionaryObject({NameObject("/A"): action("Launch")})
    page[NameObject("/Annots")] = ArrayObject([note])


def acting_page(writer, page):
    page[NameObject("/AA")] = DictionaryObject({NameObject("/O"): action("Launch")})


def script_that_follows(writer, page):
    first = action("GoTo")
    first[NameObject("/Next")] = action("JavaScript")
    writer.root_object[NameObject("/OpenAction")] = first


def embedded_file(writer, page):
    writer.add_attachment("setup.exe", b"MZ")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (launching_note, "contains a script"),
        (acting_page, "contains a script"),
        (script_that_follows, "contains a script"),
        (embedded_file, "other files hidden inside"),
    ],
)
def test_pdf_that_runs_or_carries_something_is_refused(monkeypatch, change, words):
    monkeypatch.setattr(sent_pdf, "pdf_has_script", lambda data: False)

    with pytest.raises(Refused, match=words):
        take(pdf_with(change))


def test_jump_to_a_page_is_no_script():
    assert take(pdf(OpenAction=action("GoTo"))).pages == 1


@pytest.mark.parametrize(
    "root",
    [{"Names": TextStringObject("x")}, {"OpenAction": TextStringObject("x")}],
    ids=["names", "open action"],
)
def test_odd_entry_is_no_script(root):
    assert take(pdf(**root)).pages == 1


def test_every_cut_in_a_pdf_gives_the_file_or_a_clear_word(caplog):
    """A damaged file never shows the reader's own error."""
    caplog.set_level("CRITICAL", logger="pypdf")
    whole = pdf()
    answers = set()
    for at in range(5, len(whole), 3):
        try:
            answers.add(take(whole[:at] + whole[at + 7 :]).content_type)
        except Refused as refused:
            answers.add("damaged" if "damaged" in refused.text else refused.text)

    assert answers == {"application/pdf", "damaged"}
