"""The PDF itself: pages, text, bookmarks, tags; and what it refuses to load."""

import io
import re
from dataclasses import replace

import pypdf
import pytest
from weasyprint import HTML
from weasyprint.formatting_structure.boxes import TextBox

from maintenance.packets.history.model import History
from maintenance.packets.page import history_page
from maintenance.packets.pdf import DataOnly, write_pdf
from tests.packets.reading import bookmarks, pdf_text
from tests.packets.samples import HISTORY, RECORD, with_records


def printed(history: History) -> bytes:
    out = io.BytesIO()
    write_pdf(history_page(history), out)
    return out.getvalue()


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return printed(with_records(40))


@pytest.fixture(scope="module")
def reader(pdf) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def test_pdf_is_tagged_titled_and_in_a_language(reader):
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert reader.metadata.title == "Marlow: Service History through May 4, 2026"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


def test_pdf_says_that_it_keeps_to_pdf_ua(reader):
    metadata = reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert re.search(r"pdfuaid:part[>=\"]+1", metadata)


def test_tags_tell_headings_tables_and_what_a_photo_shows(reader):
    found: set[str] = set()
    texts: set[str] = set()

    def walk(node) -> None:
        node = node.get_object()
        if not isinstance(node, dict):
            return
        found.add(str(node.get("/S")))
        texts.add(str(node.get("/Alt")))
        kids = node.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            walk(kid)

    walk(reader.trailer["/Root"]["/StructTreeRoot"])
    assert {"/H1", "/H2", "/H4", "/Table", "/TH", "/Figure", "/Link"} <= found
    assert "drum.jpg" in texts


def test_every_page_says_which_of_how_many_it_is(reader):
    pages = len(reader.pages)
    assert pages > 3
    for n, page in enumerate(reader.pages, start=1):
        assert f"Page {n} of {pages}" in page.extract_text()


def test_pages_after_the_first_name_the_rig_and_the_day(reader):
    first, second, *_rest = (page.extract_text() for page in reader.pages)
    assert "Service history, as of May 4, 2026" in second
    assert second.count("Marlow") == 1
    assert first.count("Marlow") == 1  # its title, no running head


def test_contents_name_the_page_on_which_a_part_begins(reader):
    first = reader.pages[0].extract_text()
    (named,) = re.findall(r"Use and meters[ .]+(\d+)", first)
    assert "By calendar year" in reader.pages[int(named) - 1].extract_text()


def test_bookmarks_lead_to_parts_years_and_records(pdf):
    found = bookmarks(pdf)
    parts = [title for depth, title in found if depth == 1]
    assert parts == [
        "Not done yet",
        "This record at a glance",
        "Contents",
        "Up to date, coming, or later",
        "Work done, newest first",
        "Use and meters",
        "Storage and events",
        "How this record is kept",
    ]
    assert (2, "2026 40 records") in found
    assert (3, "Apr 30, 2026: Job 7") in found


def test_text_says_what_a_buyer_looks_for():
    text = pdf_text(printed(HISTORY))
    for words in (
        "Unfit to travel until fixed",
        "$412.50",
        "Wheel torque 110 ft·lbf, from the manufacturer's manual",
        "45 days after the work",
        "Void: voided May 2, 2026: wrong rig",
        "SHA-256 e16fa5d9b5192875…, the file is missing",
        "questionable, not counted",
    ):
        assert words in text.replace("\n", " ")


def test_paper_is_letter_or_a4():
    (letter, _), (a4, _) = (
        (page.mediabox.width, page)
        for page in (
            pypdf.PdfReader(io.BytesIO(printed(replace(HISTORY, paper=paper)))).pages[0]
            for paper in ("letter", "a4")
        )
    )
    assert (round(letter), round(a4)) == (612, 595)


@pytest.mark.parametrize("long", ["Marlow " * 8 + "end", "M" * 60])
def test_very_long_names_stay_on_the_page(long):
    line = replace(RECORD.lines[0], what=long * 2)
    cover = replace(HISTORY.cover, rig=long.strip())
    years = (replace(HISTORY.years[0], records=(replace(RECORD, lines=(line,)),)),)

    page = history_page(replace(HISTORY, cover=cover, years=years))

    for sheet in HTML(string=page, url_fetcher=DataOnly()).render().pages:
        boxes = [
            box
            for box in sheet._page_box.descendants()
            if isinstance(box, TextBox) and box.text.strip()
        ]
        assert max(box.position_x + box.width for box in boxes) < sheet.width


@pytest.mark.parametrize("number", [0, 100])
def test_history_of_any_length_is_printed(number):
    pdf = printed(with_records(number))
    assert len(re.findall("Apr 30, 2026", pdf_text(pdf))) == number


CRAFTED = (
    '<link rel="stylesheet" href="{url}">',
    '<link rel="attachment" href="{url}">',
    '<a rel="attachment" href="{url}">x</a>',
    '<img src="{url}" alt="x">',
    '<object data="{url}">x</object>',
    '<p style="background: url({url})">x</p>',
    "<style>@import url({url});</style>",
    "<style>@font-face {{ font-family: x; src: url({url}) }}</style>"
    "<style>p {{ font-family: x }}</style><p>x</p>",
    '<svg><image href="{url}" width="9" height="9"/></svg>',
)


@pytest.mark.parametrize("crafted", CRAFTED)
def test_page_gets_no_file_of_this_machine_into_the_pdf(crafted, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("body::before { content: 'the secret of the house' }")
    out = io.BytesIO()

    html = f"<html lang=en><title>x</title>{crafted.format(url=secret.as_uri())}"
    write_pdf(html, out)

    reader = pypdf.PdfReader(io.BytesIO(out.getvalue()))
    assert not reader.attachments
    assert "secret of the house" not in pdf_text(out.getvalue())
    assert b"secret of the house" not in out.getvalue()


@pytest.mark.parametrize("crafted", CRAFTED)
def test_page_asks_no_server(crafted, asked):
    html = f"<html lang=en><title>x</title>{crafted.format(url=asked.url)}"

    write_pdf(html, io.BytesIO())

    assert asked.paths == []


def test_what_a_member_typed_is_text_and_never_markup():
    crafted = '<link rel="attachment" href="file:///etc/hostname"><b>x</b>'
    years = (replace(HISTORY.years[0], records=(replace(RECORD, notes=crafted),)),)

    assert crafted in pdf_text(printed(replace(HISTORY, years=years))).replace("\n", "")
