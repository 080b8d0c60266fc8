"""Old data as it was left, opened by this version on the database of the run: a copy of
its folder with SQLite, or its dump loaded into a database of its own on PostgreSQL."""

import gzip
import io
import json
import os
import shutil
import subprocess
import tarfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings as django_settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations import Migration, RunPython
from django.db.migrations.loader import MigrationLoader

from rigsite.backup.making import copy_database
from rigsite.backup.scratch import database_in_use, scratch
from rigsite.upgrade import upgrade
from tests import servers

FIRST = Path(__file__).parent / "6ecae83"
MOMENT = "2026-11-25 16:30"  # when that data was left
ON_SQLITE = django_settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")


@dataclass(frozen=True)
class Old:
    """The data folder, and how many rows each table had when it was left. Once opened:
    what was told of it, and the standings of before, by the item's number."""

    data: Path
    rows: dict[str, int]
    told: str = ""
    standings: dict[int, str] = field(default_factory=dict)


@pytest.fixture
def old(empty: Path) -> Old:
    """Nothing of it was migrated yet; the clock stands where it was left."""
    with tarfile.open(FIRST / "data.tar.xz") as packed:
        packed.extractall(empty.parent, filter="data")
    if not ON_SQLITE:
        _load_dump(connection.settings_dict)
    return Old(empty, rows_by_table())


@pytest.fixture
def opened(old: Old, tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Old:
    """The same, opened by this version. That takes long: it is opened once, and copied
    from then on with what was told."""
    base = tmp_path_factory.getbasetemp()
    made, notes = base / "opened.db", base / "opened.json"
    if notes.exists():
        _put_in_place(made, worker_id)
        told, before = json.loads(notes.read_text())
    else:
        before = [*standings().items()]
        told = " ".join(upgrade())
        shutil.rmtree(old.data / "before-upgrade", ignore_errors=True)
        _keep(made, worker_id)
        notes.write_text(json.dumps([told, before]))
    return Old(old.data, old.rows, told, dict(before))


@pytest.fixture
def recent(opened: Old) -> Old:
    """As if this version had left it: for what is not about how old the data is."""
    return Old(opened.data, rows_by_table())


def standings() -> dict[int, str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT item_id, standing FROM plans_standing")
        return dict(cursor.fetchall())


def _keep(made: Path, worker_id: str) -> None:
    if ON_SQLITE:
        copy_database(made)
    else:
        connection.close()
        _copy_on_server(f"old_{worker_id}", f"opened_{worker_id}")


def _put_in_place(made: Path, worker_id: str) -> None:
    connection.close()
    if ON_SQLITE:
        database = Path(connection.settings_dict["NAME"])
        for end in ("-wal", "-shm"):
            database.with_name(database.name + end).unlink(missing_ok=True)
        shutil.copy(made, database)
    else:
        _copy_on_server(f"opened_{worker_id}", f"old_{worker_id}")


def _copy_on_server(name: str, copy: str) -> None:
    with psycopg.connect(os.environ["DATABASE_URL"], autocommit=True) as server:
        server.execute(f"DROP DATABASE IF EXISTS {copy} WITH (FORCE)")
        server.execute(f"CREATE DATABASE {copy} TEMPLATE {name}")


@pytest.fixture
def empty(
    tmp_path: Path,
    settings: Any,
    clock: Callable[..., None],
    django_db_blocker: Any,
    worker_id: str,
) -> Iterator[Path]:
    """An empty data folder with an empty database in use."""
    data = tmp_path / "data"
    data.mkdir()
    settings.DATA, settings.MEDIA_ROOT = data, data / "files"
    clock(MOMENT)
    with (
        django_db_blocker.unblock(),
        database_in_use(_database(data, f"old_{worker_id}")),
    ):
        yield data


@pytest.fixture
def fresh(tmp_path: Path, worker_id: str) -> dict[str, Any]:
    """An empty database beside the one in use."""
    return _database(tmp_path, f"fresh_{worker_id}")


def _database(folder: Path, name: str) -> dict[str, Any]:
    if ON_SQLITE:
        return scratch(folder / "rigsite.db")
    config = django_settings.DATABASES["default"]
    with psycopg.connect(os.environ["DATABASE_URL"], autocommit=True) as server:
        server.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        server.execute(f"CREATE DATABASE {name}")
    return config | {"NAME": name}


def _load_dump(config: dict[str, Any]) -> None:
    where = ["-h", config["HOST"], "-p", str(config["PORT"]), "-U", config["USER"]]
    psql = [servers.program("psql"), "-q", "-v", "ON_ERROR_STOP=1", *where]
    subprocess.run(
        [*psql, config["NAME"]],
        input=gzip.decompress((FIRST / "postgresql.sql.gz").read_bytes()),
        check=True,
        stdout=subprocess.DEVNULL,
    )


def rows_by_table() -> dict[str, int]:
    with connection.cursor() as cursor:
        counted = {}
        for table in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f'SELECT count(*) FROM "{table}"')  # noqa: S608
            (counted[table],) = cursor.fetchone()
    return counted


# Rows of the program itself, which come and go with it.
OF_THE_PROGRAM = {"django_migrations", "django_content_type", "auth_permission"}
# What upgrading raises, to be told in the next digest.
RAISED = {"reminders_notice", "reminders_stayquestion"}
RENAMED: dict[str, str] = {}  # a table by its old name: its name now


# What the library has split off since, on the plans of the old data.
SPLIT_OFF = {"plans_planitem": 3, "plans_standing": 3}


def same_rows(
    before: dict[str, int], after: dict[str, int], more: Mapping[str, int] = {}
) -> bool:
    """Whether each table of before holds as many rows, or so many more; what is raised
    may be more."""
    for table in before.keys() - OF_THE_PROGRAM:
        now = after.get(RENAMED.get(table, table))
        raised = now is not None and table in RAISED and now >= before[table]
        assert raised or now == before[table] + more.get(table, 0), table
    return True


# PostgreSQL's: keys of Django's own tables are wider where migrations made them.
WHOLE = {20: "whole number", 23: "whole number"}


def shape_of_tables() -> dict[str, tuple[object, object]]:
    """By table: its columns, and what they are held to. Names that Django makes up tell
    of the names that columns had before, and are left out."""
    with connection.cursor() as cursor:
        read = connection.introspection
        return {
            table: (
                {
                    column.name: (
                        WHOLE.get(column.type_code, column.type_code),
                        column.null_ok,
                        column.default,
                    )
                    for column in read.get_table_description(cursor, table)
                },
                sorted(
                    str(sorted((key, rule[key]) for key in rule if key != "definition"))
                    for rule in read.get_constraints(cursor, table).values()
                ),
            )
            for table in read.table_names(cursor)
        }


def said(command: str, *arguments: str, fails: bool = False) -> str:
    """What a command prints, where it ends as it should."""
    out = io.StringIO()
    code = 0
    try:
        call_command(command, *arguments, stdout=out, stderr=out)
    except SystemExit as ended:
        code = int(ended.code or 0)
    assert bool(code) == fails, out.getvalue()
    return out.getvalue()


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[..., None]], str]:
    """A migration that this version has and no data: `later(act)` gives its name."""
    load = MigrationLoader.load_disk

    def add(act: Callable[..., None]) -> str:
        def load_more(self: MigrationLoader) -> None:
            load(self)
            last = max(each for each in self.disk_migrations if each[0] == "supplies")
            more = Migration("9999_later", "supplies")
            more.dependencies, more.operations = [last], [RunPython(act)]
            self.disk_migrations["supplies", more.name] = more

        monkeypatch.setattr(MigrationLoader, "load_disk", load_more)
        return "supplies.9999_later"

    return add
