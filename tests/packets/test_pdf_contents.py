"""What records gained, as it stands in the PDF: text, pages, bookmarks, width."""

import io
from dataclasses import replace

import pypdf
from weasyprint import HTML
from weasyprint.formatting_structure.boxes import TextBox

from maintenance.packets.history.model import DatedRow, History, PartRow, Record
from maintenance.packets.page import history_page
from maintenance.packets.pdf import DataOnly, write_pdf
from tests.packets.reading import bookmarks, pdf_text
from tests.packets.samples import HISTORY, RECORD

PARTS = tuple(
    f"Brake hardware kit, axle {n} HX-22{n:02d}, 2 at 45.50" for n in range(15)
)
FULL = replace(
    RECORD,
    proof=(),
    parts=PARTS,
    warranty="Warranty on the brakes until Apr 1, 2027",
    signed="Jo Reed, no. 4471",
    merged=("Duplicate merged. Entered May 2, 2026 by Ben, done by Ben",),
    brought="Brought in from “log.csv”, row 7",
)
PART = PartRow(
    name="Cylinder",
    serial="C-1188",
    made="May 2019",
    service="Jan 1, 2025",
    used="420 mi",
    left=("Requalify: 5 years left",),
)
WHOLE = replace(
    HISTORY,
    looks=(DatedRow("May 4, 2026", "by Ann", "12 zones, 1 fault found"),),
    looks_left_out="And 6 more, the first on Oct 13, 2025.",
    faults=(DatedRow("Apr 1, 2026", "Loose clip, roof", "fixed Apr 9, 2026"),),
    fuel="Fuel, by 2 stops: 300 mi ÷ 30 gal = 10 mi/gal.",
    parts=(PART,),
)


def printed(history: History) -> bytes:
    out = io.BytesIO()
    write_pdf(history_page(history), out)
    return out.getvalue()


def with_record(record: Record) -> History:
    return replace(HISTORY, years=(replace(HISTORY.years[0], records=(record,)),))


def words_of(data: bytes) -> str:
    return " ".join(pdf_text(data).split())


def test_record_of_fifteen_parts_says_each_once_and_stays_on_its_pages():
    data = printed(with_record(FULL))
    plain = printed(with_record(replace(FULL, parts=())))

    text = words_of(data)

    assert all(text.count(part) == 1 for part in PARTS)
    pages = [len(pypdf.PdfReader(io.BytesIO(pdf)).pages) for pdf in (data, plain)]
    assert pages[0] - pages[1] <= 1


def test_fifteen_parts_with_long_numbers_stay_within_the_margins():
    wide = tuple(f"{part} {'8' * 90}" for part in PARTS)
    page = history_page(with_record(replace(FULL, parts=wide)))

    for sheet in HTML(string=page, url_fetcher=DataOnly()).render().pages:
        boxes = [
            box
            for box in sheet._page_box.descendants()
            if isinstance(box, TextBox) and box.text.strip()
        ]
        assert max(box.position_x + box.width for box in boxes) < sheet.width


def test_few_parts_share_a_line():
    text = words_of(printed(with_record(replace(FULL, parts=("Pad set", "Grease")))))

    assert "Parts: Pad set; Grease" in text


def test_record_says_warranty_signer_merging_and_where_it_came_from():
    text = words_of(printed(with_record(FULL)))

    assert FULL.warranty in text
    assert "Signed off by Jo Reed, no. 4471" in text
    assert FULL.merged[0] in text
    assert FULL.brought in text


def test_sections_for_faults_and_parts_have_text_bookmark_and_line_in_the_contents():
    data = printed(WHOLE)

    text, marks = words_of(data), bookmarks(data)

    for words in ("Loose clip, roof", "And 6 more", "10 mi/gal", "C-1188"):
        assert words in text
    for title in ("Faults and walk-arounds", "Parts that age"):
        assert (1, title) in marks
        assert text.count(title) == 2  # the heading and the contents


def test_history_without_them_prints_no_empty_section():
    data = printed(HISTORY)

    text = words_of(data)

    assert "Faults and walk-arounds" not in text
    assert "Parts with a life" not in text
    assert "Fuel" not in text
