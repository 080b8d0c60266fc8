"""The copies of the nights: a small ZIP each with the database and a manifest, and
every kept file once for all of them, by its digest. Kept are seven days, four weeks and
twelve months."""

import contextlib
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from django.conf import settings

from maintenance.disk import HALF, make_folder, put_file
from rigsite.backup.making import (
    COPY,
    Snapshot,
    copy_and_digest,
    kept_files,
    manifest,
    name_of,
    one_at_a_time,
    pack,
    refuse_without_room,
    take_snapshot,
    workroom,
)
from rigsite.backup.reading_back import ReadBack, StoredDigests
from rigsite.backup.sealing import SEALED, deliver
from rigsite.backup.unpacking import FILES, beside

NAME = re.compile(r"rigsite-(\d{8}-\d{6})\.zip(\.age)?")
LISTED = ".files"  # the end of the list of digests that a copy needs
PERIODS: tuple[tuple[int, Callable[[datetime], object]], ...] = (
    (7, lambda at: at.date()),
    (4, lambda at: at.isocalendar()[:2]),
    (12, lambda at: (at.year, at.month)),
)


def nightly_folder() -> Path:
    folder = Path(settings.BACKUP_FOLDER or Path(settings.DATA) / "backups")
    return folder.expanduser().absolute() / "nightly"


class Weekly(Protocol):
    """Who is told each week how it stands with what is stored."""

    def was_read_back(self, found: ReadBack) -> None: ...

    def is_good(self, copy: Path) -> bool:
        """It is in the clear, its files beside it or encrypted there."""
        ...


@dataclass(frozen=True, slots=True)
class Copies:
    """`public`: the key to which all of it is encrypted."""

    folder: Path
    public: str = ""

    def made(self) -> dict[datetime, Path]:
        """The copies that are there, by their moment, the newest last."""
        found = {}
        for path in sorted(self.folder.glob("rigsite-*.zip*")):
            if match := NAME.fullmatch(path.name):
                at = datetime.strptime(match[1], "%Y%m%d-%H%M%S").replace(tzinfo=UTC)
                found[at] = path
        return found

    def make(self, now: datetime, *, weekly: Weekly | None) -> Path:
        """A copy of now; its path. `weekly`: who looks at what is stored, where it is
        time to. Where the copy is no good, those of before all stay."""
        with one_at_a_time(), workroom(settings.DATA) as place:
            make_folder(self.folder)
            self._remove_halves()
            refuse_without_room(place, 0)
            refuse_without_room(self.folder, self._new_bytes())
            snapshot = take_snapshot(place, now=now)
            stored = StoredDigests(self.folder)
            bad = self._read_back(stored, weekly) if weekly else frozenset()
            files = list(self._keep_files(stored, bad))
            name = f"rigsite-{now.astimezone(UTC):%Y%m%d-%H%M%S}.zip"
            clear = place / name
            _write(clear, snapshot, files)
            (place / FILES).symlink_to(self.folder / FILES)
            good = weekly.is_good(clear) if weekly else True
            digests = sorted({file["sha256"] for file in files})
            put_file(self.folder / f"{name}{LISTED}", "\n".join(digests).encode())
            path = self.folder / (f"{name}{SEALED}" if self.public else name)
            deliver(clear, path, public=self.public)
            stored.note(path)
            if good:
                self._forget_old()
            stored.save()
        return path

    # --- files, once each -------------------------------------------------------------

    def _stored(self, digest: str) -> Path:
        clear = beside(self.folder, digest)
        return clear.with_name(clear.name + SEALED) if self.public else clear

    def _new_bytes(self) -> int:
        """About what is to be added: what came since the last copy."""
        last = max((at.timestamp() for at in self.made()), default=0.0)
        found = (path.stat() for path in kept_files())
        return sum(each.st_size for each in found if each.st_mtime >= last)

    def _read_back(self, stored: StoredDigests, weekly: Weekly) -> frozenset[Path]:
        """What is not as it was written; of that, what is still kept is stored anew."""
        lists = [_listed(path) for path in self.made().values()]
        found = stored.read_back(path for path in lists if path.exists())
        weekly.was_read_back(found)
        return frozenset(self.folder / name for name in found.damaged)

    def _keep_files(
        self, stored: StoredDigests, bad: frozenset[Path]
    ) -> Iterator[dict[str, Any]]:
        for path in kept_files():
            with contextlib.suppress(FileNotFoundError):  # removed meanwhile
                with path.open("rb") as source:
                    digest, size = copy_and_digest(source, None)
                target = self._stored(digest)
                if target in bad or not target.exists():
                    deliver(path, target, public=self.public)
                    stored.note(target)
                name = f"{FILES}/{name_of(path)}"
                yield {"name": name, "sha256": digest, "bytes": size}

    # --- what goes --------------------------------------------------------------------

    def _forget_old(self) -> None:
        made = self.made()
        keep = to_keep(made)
        for at, path in made.items():
            if at not in keep:
                path.unlink()
                _listed(path).unlink(missing_ok=True)
        self._forget_files()

    def _forget_files(self) -> None:
        """Those that no copy needs. A copy without its list may need any of them."""
        lists = [_listed(path) for path in self.made().values()]
        if not all(path.exists() for path in lists):
            return
        needed = {line for path in lists for line in path.read_text().splitlines()}
        for path in (self.folder / FILES).glob("??/*"):
            if path.name.removesuffix(SEALED) not in needed:
                path.unlink()

    def _remove_halves(self) -> None:
        for folder in (self.folder, *(self.folder / FILES).glob("??")):
            for half in folder.glob(f".*{HALF}"):
                half.unlink(missing_ok=True)


def _write(path: Path, snapshot: Snapshot, files: list[dict[str, Any]]) -> None:
    path.touch(mode=0o600)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        database = pack(packed, snapshot.database, COPY)
        packed.writestr("manifest.json", manifest(snapshot, [database, *files]))


def _listed(path: Path) -> Path:
    return path.with_name(f"{path.name.removesuffix(SEALED)}{LISTED}")


def to_keep(made: Iterable[datetime]) -> set[datetime]:
    """The newest of each of the last seven days that have one, of the last four weeks
    and of the last twelve months."""
    kept: set[datetime] = set()
    for count, period in PERIODS:
        newest = {period(at): at for at in sorted(made)}
        kept |= set(sorted(newest.values())[-count:])
    return kept
