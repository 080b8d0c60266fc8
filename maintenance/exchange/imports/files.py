"""A file or pasted text as a table, and the table kept until its rows are in."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from maintenance.core.tables import Table, TableError, read_text, rows_of
from maintenance.disk import put_file
from maintenance.vehicles.quota import refuse_full

from ..models import ImportJob
from .kept_table import table_in, text_of
from .reading_apart import is_workbook, read_workbook_apart

LARGEST_BYTES = 10_000_000

_REFUSED_HEADS = (
    (b"%PDF-", "This is a PDF. Attach it as proof to a record instead."),
    (b"\xd0\xcf\x11\xe0", "This is an old workbook (XLS). Save it as XLSX or CSV."),
    (b"\xff\xd8\xff", "This is a photo. Attach it as proof to a record instead."),
    (b"\x89PNG", "This is a picture. Attach it as proof to a record instead."),
)


@dataclass(frozen=True)
class Source:
    """What was sent: its name, its bytes' digest, and the table in it."""

    name: str
    sha256: str
    table: Table


def source_of_file(name: str, data: bytes) -> Source:
    """`TableError` says why it is no table and what to do."""
    if len(data) > LARGEST_BYTES:
        raise TableError("The file is over 10 MB. Split it into several files.")
    for head, words in _REFUSED_HEADS:
        if data.startswith(head):
            raise TableError(words)
    table = read_workbook_apart(data) if is_workbook(data) else read_text(data)
    return Source(name, hashlib.sha256(data).hexdigest(), _wide_enough(table))


def source_of_text(name: str, text: str) -> Source:
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Source(name, digest, _wide_enough(rows_of(text)))


def _wide_enough(table: Table) -> Table:
    if table.width < 2:
        raise TableError(
            "The file has only one column. It needs at least the day and what was "
            "done, in separate columns."
        )
    return table


def path_of(bringing: ImportJob) -> Path:
    return Path(settings.MEDIA_ROOT) / "brought" / f"{bringing.key.hex}.json"


def keep_table(bringing: ImportJob, table: Table) -> None:
    data = text_of(table).encode()
    refuse_full(bringing.rig.household, len(data))
    put_file(path_of(bringing), data)


def table_of(bringing: ImportJob) -> Table:
    """`TableError` when the kept table is gone."""
    try:
        return table_in(path_of(bringing).read_text())
    except FileNotFoundError:
        raise TableError("We no longer have the file. Send it again.") from None
    except (OSError, ValueError, LookupError, TypeError):
        raise TableError("The saved file is damaged. Send it again.") from None
