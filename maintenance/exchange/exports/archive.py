"""The ZIP of everything: written to a file, never held whole in memory."""

import hashlib
import io
import json
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache, partial
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.db import models, transaction
from django.utils.text import get_valid_filename, slugify

from maintenance.households.models import Household
from maintenance.vehicles.models import Rig

from .history import write_history
from .scope import LEFT_OUT, label_of, our_models, taken_out
from .tables import Names, rows_of, write_table

# What a row's file is stored under, and the folders that are not for taking out.
STORED_IN = ("stored", "photo")
NOT_TAKEN = {"packets", "brought", "exports"}
BLOCK = 1 << 16


@dataclass
class Archive:
    """A ZIP being written, and what its manifest is to say."""

    zip: zipfile.ZipFile
    files: list[dict[str, Any]] = field(default_factory=list)

    def add_table(self, name: str, write: Callable[[IO[str]], int]) -> None:
        with self.zip.open(name, "w", force_zip64=True) as raw:
            digest = _Digesting(raw)
            text = io.TextIOWrapper(
                io.BufferedWriter(digest), encoding="utf-8-sig", newline=""
            )
            rows = write(text)
            text.flush()
            text.detach().detach()
        self._note(name, digest, rows=rows)

    def add_file(self, name: str, path: Path, said: str) -> None:
        with path.open("rb") as source, self.zip.open(name, "w") as raw:
            digest = _Digesting(raw)
            while block := source.read(BLOCK):
                digest.write(block)
        problem = "" if digest.hexdigest == said else "not the file that was stored"
        self._note(name, digest, **({"problem": problem} if problem else {}))

    def _note(self, name: str, digest: "_Digesting", **more: Any) -> None:
        entry = {"name": name, "sha256": digest.hexdigest, "bytes": digest.size}
        self.files.append(entry | more)


class _Digesting(io.RawIOBase):
    """Passes on what is written and digests it on the way."""

    def __init__(self, raw: IO[bytes]) -> None:
        self.raw, self.size, self._sha256 = raw, 0, hashlib.sha256()

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        block = bytes(data)
        self._sha256.update(block)
        self.size += len(block)
        self.raw.write(block)
        return len(block)

    @property
    def hexdigest(self) -> str:
        return self._sha256.hexdigest()


def write_archive(
    household: Household,
    out: IO[bytes],
    *,
    made_by: str,
    now: datetime,
    tell: Callable[[int, int], None] = lambda _done, _total: None,
) -> None:
    """`tell` is called with how many tables and files are in, and of how many."""
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        archive = Archive(packed)
        with transaction.atomic():  # all tables as of one moment
            _add_tables(archive, household)
            files = list(_files_of(household))
        tables = len(archive.files)
        for n, (name, path, said) in enumerate(files):
            tell(tables + n, tables + len(files))
            archive.add_file(name, path, said)
        manifest = _manifest(archive, household, made_by, now)
        packed.writestr("manifest.json", json.dumps(manifest, indent=1))


def _add_tables(archive: Archive, household: Household) -> None:
    names = Names(household)
    for model in taken_out():
        write = partial(write_table, model, household, names)
        archive.add_table(f"tables/{_file_name(model)}.csv", write)
    for rig in Rig.objects.for_household(household).select_related("household"):
        name = f"history/{slugify(rig.name) or 'rig'}-{rig.pk}.csv"
        archive.add_table(name, partial(write_history, rig))


def _file_name(model: type[models.Model]) -> str:
    return slugify(str(model._meta.verbose_name_plural))


def file_field(model: type[models.Model]) -> str | None:
    """The field that holds the name under which a row's file is stored, if any."""
    own = {one.name for one in model._meta.concrete_fields}
    if "sha256" not in own:
        return None
    return next((name for name in STORED_IN if name in own), None)


def _files_of(household: Household) -> Iterator[tuple[str, Path, str]]:
    """(name in the ZIP, where it lies, its digest) of every file of a household."""
    lying = _lying_files()
    for model in taken_out():
        stored = file_field(model)
        for row in rows_of(model, household) if stored else ():
            path = lying.get(getattr(row, str(stored)))
            if path is not None:
                title = get_valid_filename(f"{row.pk}-{Path(str(row)).stem[:60]}")
                name = f"files/{_file_name(model)}/{title}{path.suffix}"
                yield name, path, getattr(row, "sha256", "")


def _lying_files() -> dict[str, Path]:
    """Stored name -> path. The names are random, so no two are alike."""
    root = Path(settings.MEDIA_ROOT)
    folders = [path for path in root.glob("*") if path.name not in NOT_TAKEN]
    return {path.name: path for folder in folders for path in folder.glob("*")}


def _manifest(
    archive: Archive, household: Household, made_by: str, now: datetime
) -> dict[str, Any]:
    return {
        "program": "rigsite",
        "version": program_version(),
        "household": household.name,
        "made_at": now.isoformat(timespec="seconds"),
        "made_by": made_by,
        "files": archive.files,
        "left_out": [
            {"table": label_of(model), "why": LEFT_OUT[label_of(model)]}
            for model in _left_out_models()
        ],
    }


def _left_out_models() -> list[type[models.Model]]:
    return [model for model in our_models() if label_of(model) in LEFT_OUT]


@cache
def program_version() -> str:
    data = tomllib.loads((Path(settings.BASE_DIR) / "pyproject.toml").read_text())
    return str(data["project"]["version"])
