"""Files below the data: those on record, and those that nothing refers to any more."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from maintenance.disk import put_file
from maintenance.exchange.exports import making as exports
from maintenance.exchange.exports.archive import file_field
from maintenance.exchange.exports.scope import our_models
from maintenance.exchange.imports import files as imports
from maintenance.exchange.models import ExportJob, ImportJob
from maintenance.packets.files import path_of as packet_path
from maintenance.packets.models import Packet

# So long a file may lie that nothing refers to: a form half sent, a database put back
# by hand and then the newer one again.
GRACE = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class KeptFile:
    path: Path
    sha256: str
    about: str


def kept_files() -> Iterator[KeptFile]:
    """Every photo and document on record. The names are random, so that no two are
    alike whatever folder they lie in."""
    lying = {path.name: path for path in _lying()}
    for model in our_models():
        column = file_field(model)
        if column is None:
            continue
        rows = model._default_manager.exclude(**{column: ""}).order_by("pk")
        label = str(model._meta.verbose_name)
        for pk, name, sha256 in rows.values_list("pk", column, "sha256").iterator():
            path = lying.get(name, Path(settings.MEDIA_ROOT) / name)
            yield KeptFile(path, sha256, f"{label} {pk}")


def _lying() -> Iterator[Path]:
    root = Path(settings.MEDIA_ROOT)
    for path in sorted(root.glob("*/*")):
        if path.is_file() and not path.is_symlink() and path.name != ".lock":
            yield path


def _made_files() -> Iterator[Path]:
    """What was made of rows, and lies under their keys."""
    yield from map(packet_path, Packet.objects.iterator())
    yield from map(exports.path_of, ExportJob.objects.iterator())
    yield from map(imports.path_of, ImportJob.objects.iterator())


def orphans() -> list[Path]:
    """Files that no row refers to. Looked at before the rows: what is being stored just
    now has no row yet, and is orphaned for a moment only."""
    lying = list(_lying())
    known = {kept.path.name for kept in kept_files()}
    known |= {path.name for path in _made_files()}
    return [path for path in lying if path.name not in known]


def sweep_orphans(now: datetime) -> int:
    """Remove what has been an orphan for longer than the grace; says how many. Since
    when, is kept in a file: one that was on record for years has its grace, too."""
    note = Path(settings.DATA) / "orphan-files.json"
    since = _noted(note)
    root = Path(settings.MEDIA_ROOT)
    found: dict[str, str] = {}
    gone = 0
    for path in orphans():
        name = path.relative_to(root).as_posix()
        first = since.get(name, now)
        if now - first > GRACE:
            path.unlink(missing_ok=True)
            gone += 1
        else:
            found[name] = min(first, now).isoformat(timespec="seconds")
    if found or note.exists():
        put_file(note, json.dumps(found).encode())
    return gone


def _noted(note: Path) -> dict[str, datetime]:
    try:
        said = json.loads(note.read_text())
        return {name: datetime.fromisoformat(at) for name, at in said.items()}
    except (OSError, ValueError, AttributeError, TypeError):
        return {}
