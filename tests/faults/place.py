"""A data folder with a household, a chain of records and files, to be struck."""

import contextlib
import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.core.management import call_command

from rigsite.backup.scratch import data_in_use
from rigsite.paths import CHECKOUT, environment_python
from tests.faults.table import Fault

NAME = "Alder Lane"


@dataclass(frozen=True, slots=True)
class Place:
    """`data` is a copy of its own of what `make_template` made, `room` an empty folder
    beside it."""

    data: Path
    room: Path

    def in_use(self) -> contextlib.AbstractContextManager[None]:
        """What asks for the database or the data folder gets these."""
        return data_in_use(self.data)

    def manage(
        self, *arguments: str | Path, data: Path | None = None, **settings: str
    ) -> "subprocess.CompletedProcess[str]":
        """One of the program's commands, in a process of its own."""
        return subprocess.run(
            [environment_python(), CHECKOUT / "manage.py", *map(str, arguments)],
            env=self.environment(data or self.data) | settings,
            capture_output=True,
            text=True,
            check=False,
        )

    @staticmethod
    def environment(data: Path) -> dict[str, str]:
        ours = {"REDIS_URL", "DATABASE_URL", "DJANGO_SETTINGS_MODULE"}
        kept = {name: value for name, value in os.environ.items() if name not in ours}
        return kept | {"RIGSITE_DATA": str(data), "LOG_LEVEL": "ERROR"}


def make_template(data: Path, *, migrated: Path | None = None) -> None:
    """The data folder that every place is a copy of. `migrated`: an empty database of
    this version, since making one takes ten seconds."""
    from tests.builders import make_household, make_member  # noqa: PLC0415  (models)
    from tests.service_records.chain_parts import make_chain  # noqa: PLC0415

    data.mkdir(parents=True)
    if migrated:
        shutil.copy(migrated, data / "rigsite.db")
    with data_in_use(data):
        if not migrated:
            call_command("migrate", verbosity=0)
        make_chain(make_member(make_household(name=NAME)))


@contextlib.contextmanager
def place(template: Path, folder: Path) -> Iterator[Place]:
    data, room = folder / "data", folder / "room"
    shutil.copytree(template, data)
    room.mkdir()
    yield Place(data, room)


# --- what a fault looks at afterwards -------------------------------------------------


def households(data: Path) -> list[str]:
    """The names in the database, read past the program; it must be whole."""
    with contextlib.closing(sqlite3.connect(data / "rigsite.db")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("PRAGMA foreign_key_check").fetchone() is None
        rows = database.execute("SELECT name FROM households_household ORDER BY name")
        return [name for (name,) in rows]


def files(data: Path) -> dict[str, bytes]:
    """What is kept, by its name."""
    kept = data / "files"
    found = (path for path in kept.rglob("*") if path.is_file())
    return {path.relative_to(kept).as_posix(): path.read_bytes() for path in found}


def outcome(fault: Fault, template: Path) -> str:
    """Strike a copy of the template; in words what came of it."""
    with (
        tempfile.TemporaryDirectory(prefix="rig-") as folder,
        place(template, Path(folder)) as made,
    ):
        return fault.strike(made)
