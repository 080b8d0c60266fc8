"""What is taken, by size and kind; the cleaning itself is tested with proof."""

import io

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

from maintenance.households.refusals import Refused
from maintenance.vehicles import uploads
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


def test_pdf_with_a_password_is_taken_without_its_pages():
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(pdf()))
    writer.encrypt("secret")
    out = io.BytesIO()
    writer.write(out)

    assert take(out.getvalue()).pages is None


def test_larger_limit_is_for_documents_alone(monkeypatch):
    monkeypatch.setattr(uploads, "LARGEST_BYTES", 50)

    assert take(pdf(), largest=60_000_000).pages == 1
    with pytest.raises(Refused, match="at most 0 MB"):
        take(photo(), largest=60_000_000)


def test_refusal_is_said_at_the_field_that_asked():
    with pytest.raises(Refused, match=r"pump\.txt: This is not a kind") as caught:
        take(b"words", "pump.txt")

    assert caught.value.field == "file"


def test_pdf_is_refused_where_a_photo_is_asked_for():
    with pytest.raises(Refused, match="Take a photo"):
        take(pdf(), photos_only=True)


@pytest.mark.parametrize("kind", ["JavaScript", "Launch"])
def test_action_that_opens_with_the_document_is_refused(monkeypatch, kind):
    # As if it lay in a compressed stream, where the raw bytes do not show it.
    monkeypatch.setattr(uploads, "pdf_has_script", lambda data: False)

    with pytest.raises(Refused, match="carries a script"):
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
        (launching_note, "carries a script"),
        (acting_page, "carries a script"),
        (script_that_follows, "carries a script"),
        (embedded_file, "other files hidden inside"),
    ],
)
def test_pdf_that_runs_or_carries_something_is_refused(monkeypatch, change, words):
    monkeypatch.setattr(uploads, "pdf_has_script", lambda data: False)

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
