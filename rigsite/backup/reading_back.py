"""Whether what lies in the folder of the nights' copies is still as it was written.

An encrypted file cannot be opened here, and a copy made of last month's nights is not
restored again, but each can be held against the digest that it had when it was new.
"""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from maintenance.disk import is_half, put_file
from rigsite.backup.making import copy_and_digest
from rigsite.backup.sealing import SEALED
from rigsite.backup.unpacking import DIGEST, FILES, beside

NOTE = "digests.json"  # by its name in the folder, the digest of each file as written
MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class ReadBack:
    """`count`: of all that was read. `damaged` and `missing`: names in the folder."""

    count: int
    damaged: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def good(self) -> bool:
        return not self.damaged and not self.missing

    @property
    def words(self) -> str:
        if self.good:
            return f"{self.count:,} files, all unchanged."
        found = [f"{len(self.damaged):,} damaged"] if self.damaged else []
        found += [f"{len(self.missing):,} missing"] if self.missing else []
        wrong = [*self.damaged, *self.missing]
        named = ", ".join(wrong[:MOST_NAMED]) + (" …" if wrong[MOST_NAMED:] else "")
        return f"{' and '.join(found)} of {self.count:,} files: {named}."


class StoredDigests:
    """What is noted of the files in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._noted = _load(folder / NOTE)

    def note(self, path: Path) -> None:
        """It was written just now."""
        self._noted[self._name(path)] = _digest(path)

    def save(self) -> None:
        """Of what is still there."""
        there = {self._name(path) for path in self._lying()}
        self._noted = {
            name: digest for name, digest in self._noted.items() if name in there
        }
        put_file(self.folder / NOTE, json.dumps(self._noted, indent=0).encode())

    def read_back(self, lists: Iterable[Path]) -> ReadBack:
        """All of it. `lists`: of the digests that each copy needs. What an earlier
        version wrote, and noted nothing of, is noted as it is now."""
        damaged, count = [], 0
        for path in self._lying():
            count += 1
            found = _digest(path)
            if not found or found != self._expected(path, found):
                damaged.append(self._name(path))
        missing = sorted(set(self._missing(lists)))
        return ReadBack(count + len(missing), tuple(damaged), tuple(missing))

    def _expected(self, path: Path, found: str) -> str:
        """A file in the clear is named by its digest."""
        if DIGEST.fullmatch(path.name):
            return path.name
        return self._noted.setdefault(self._name(path), found)

    def _missing(self, lists: Iterable[Path]) -> Iterator[str]:
        for path in lists:
            for digest in path.read_text().splitlines():
                clear = beside(self.folder, digest)
                if not clear.exists() and not _sealed(clear).exists():
                    yield self._name(clear)

    def _lying(self) -> Iterator[Path]:
        for pattern in ("rigsite-*.zip*", f"{FILES}/??/*"):
            for path in sorted(self.folder.glob(pattern)):
                is_list = path.suffix not in {".zip", SEALED, ""}
                if not is_list and not is_half(path):
                    yield path

    def _name(self, path: Path) -> str:
        return path.relative_to(self.folder).as_posix()


def _sealed(clear: Path) -> Path:
    return clear.with_name(clear.name + SEALED)


def _load(note: Path) -> dict[str, str]:
    try:
        return {
            str(name): str(told) for name, told in json.loads(note.read_text()).items()
        }
    except (OSError, ValueError, AttributeError):
        return {}


def _digest(path: Path) -> str:
    """Nothing where the disk does not give it."""
    try:
        with path.open("rb") as stored:
            return copy_and_digest(stored, None)[0]
    except OSError:
        return ""
