"""Reads what a test wants out of histories and PDFs."""

import io
from datetime import UTC, date, datetime

import pypdf

from maintenance.packets.history.build import build_history
from maintenance.packets.history.model import History, Record
from maintenance.packets.proof import listed
from maintenance.packets.queries import material_of
from maintenance.vehicles.models import Rig
from tests.builders import TODAY


def history_of(rig: Rig, as_of: date = TODAY, proof=listed) -> History:
    with rig.household.at_home():
        return build_history(
            material_of(rig, as_of),
            made_by="Ann",
            made_at=datetime(2026, 5, 4, 16, 15, tzinfo=UTC),
            proof=proof,
        )


def records_in(history: History) -> list[Record]:
    return [record for year in history.years for record in year.records]


def only_record(rig: Rig) -> Record:
    (record,) = records_in(history_of(rig))
    return record


def pdf_text(data: bytes) -> str:
    reader = pypdf.PdfReader(io.BytesIO(data))
    return "\n".join(page.extract_text() for page in reader.pages)


def bookmarks(data: bytes) -> list[tuple[int, str]]:
    """(depth, title) in order."""
    found: list[tuple[int, str]] = []

    def walk(entries, depth: int) -> None:
        for entry in entries:
            if isinstance(entry, list):
                walk(entry, depth + 1)
            else:
                found.append((depth, entry.title))

    walk(pypdf.PdfReader(io.BytesIO(data)).outline, 1)
    return found
