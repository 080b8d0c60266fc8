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
from typing import Any

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

    def make(self, now: datetime, *, try_it: Callable[[Path], bool] | None) -> Path:
        """A copy of now; its path. `try_it` is given it in the clear, its files beside
        it or encrypted there; where it says no, the copies of before all stay."""
        with one_at_a_time(), workroom(settings.DATA) as place:
            make_folder(self.folder)
            self._remove_halves()
            refuse_without_room(place, 0)
            refuse_without_room(self.folder, self._new_bytes())
            snapshot = take_snapshot(place, now=now)
            # A copy that did not open may have met a file that went bad beside it.
            files = list(self._keep_files(again=try_it is not None))
            name = f"rigsite-{now.astimezone(UTC):%Y%m%d-%H%M%S}.zip"
            clear = place / name
            _write(clear, snapshot, files)
            (place / FILES).symlink_to(self.folder / FILES)
            good = try_it(clear) if try_it else True
            digests = sorted({file["sha256"] for file in files})
            put_file(self.folder / f"{name}{LISTED}", "\n".join(digests).encode())
            path = self.folder / (f"{name}{SEALED}" if self.public else name)
            deliver(clear, path, public=self.public)
            if good:
                self._forget_old()
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

    def _keep_files(self, *, again: bool) -> Iterator[dict[str, Any]]:
        for path in kept_files():
            with contextlib.suppress(FileNotFoundError):  # removed meanwhile
                with path.open("rb") as source:
                    digest, size = copy_and_digest(source, None)
                if not self._is_good(digest, again=again):
                    deliver(path, self._stored(digest), public=self.public)
                name = f"{FILES}/{name_of(path)}"
                yield {"name": name, "sha256": digest, "bytes": size}

    def _is_good(self, digest: str, *, again: bool) -> bool:
        stored = self._stored(digest)
        if not stored.exists() or not again or self.public:
            return stored.exists()
        with stored.open("rb") as source:
            return copy_and_digest(source, None)[0] == digest

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
