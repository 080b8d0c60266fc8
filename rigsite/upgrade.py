"""Bringing a database up to this version of the program: SQLite is copied first, then
migrated, then plans get what the library split off and the names that it has now, then
all is reckoned anew. A newer version's database is refused."""

import contextlib
import logging
import shutil
import sqlite3
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, OperationalError, connection
from django.db.migrations import Migration
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from maintenance.core.facts import FactError
from maintenance.disk import put_file
from maintenance.households.models import Household
from maintenance.plans.services.splits import split_off, take_on_split_off
from maintenance.plans.services.titles import follow_titles
from maintenance.plans.standings import renew_household
from maintenance.reminders.services import raise_notices
from rigsite.backup.making import copy_database
from rigsite.checkup.backups import backup_of, newest_backup

log = logging.getLogger(__name__)

COPIES_KEPT = 3
# The copy itself, and what migrating may write before the old pages are free again.
ROOM = 3  # times the size of the database

Migrated = tuple[str, str]  # label of an app, name of a migration


class UpgradeError(Exception):
    """Why the database cannot be used by this version, and what to do, in one line."""


def upgrade() -> list[str]:
    """Migrate the database and take on what the library split off; what a person is to
    know of it, a sentence each.

    UpgradeError when it is newer than the program, when there is no room to copy it, or
    when a migration fails; SQLite is then as it was before.
    """
    refuse_newer()
    said = []
    if MigrationRecorder(connection).applied_migrations() and _steps():
        begin()
        said = _with_a_copy() if connection.vendor == "sqlite" else _with_a_dump()
    else:
        call_command("migrate", interactive=False, verbosity=0)
    if lacking := split_off():
        begin()
        said += take_on_split_off(lacking, timezone.now())
    follow_titles()
    if _begun().exists():
        settle()
        _begun().unlink()
    return said


def _steps() -> list[Migration]:
    """The migrations that are still to be applied, in order."""
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [step for step, _backwards in plan]


def begin() -> None:
    """From now on the next `upgrade` reckons everything, whatever comes between."""
    _begun().touch()


def _begun() -> Path:
    """There from before the first migration until all is reckoned: whoever ends the
    program in between finds it when it starts again."""
    return Path(settings.DATA) / "upgrade-begun"


# --- lost -----------------------------------------------------------------------------


def refuse_lost() -> None:
    """UpgradeError where there was a database and is an empty one now, or where it is
    damaged: neither a new household nor a migration may be written into it."""
    if connection.vendor == "sqlite":
        _refuse_damaged()
    if not MigrationRecorder(connection).applied_migrations() and _was_here():
        raise UpgradeError(
            f"The database ({_which()}) is empty, but it had records before. "
            "Nothing was changed. To start from scratch, set RIGSITE_DATA to "
            "another folder."
            f" {backup_of()}"
        )


def _refuse_damaged() -> None:
    if not Path(connection.settings_dict["NAME"]).exists():
        return
    try:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA quick_check(1)")
            said = str(cursor.fetchone()[0])
    except OperationalError:
        raise  # it does not answer: locked, or not to be opened
    except DatabaseError as error:
        said = _line(error)
    if said != "ok":
        raise UpgradeError(
            f"The database {_which()} is damaged ({said.splitlines()[0]}). Nothing was"
            f" changed. {backup_of()}"
        )


def _was_here() -> bool:
    """Told by the note of an earlier start on this database; without one, by what only
    a household leaves behind."""
    try:
        return _made_note().read_text().strip() == _which()
    except FileNotFoundError:
        files = Path(settings.MEDIA_ROOT).glob("*/*")
        return connection.vendor == "sqlite" and (
            newest_backup() is not None or any(files)
        )


def note_database() -> None:
    """There is a database now; kept for the day on which it is gone."""
    note = _made_note()
    if not note.exists() or note.read_text().strip() != _which():
        put_file(note, f"{_which()}\n".encode())


def database_made_at() -> datetime | None:
    """When the first start noted it."""
    try:
        return datetime.fromtimestamp(_made_note().stat().st_mtime, UTC)
    except FileNotFoundError:
        return None


def _made_note() -> Path:
    return Path(settings.DATA) / "database-made"


def _which() -> str:
    """The database by a name without its password. Of SQLite the file's name alone: the
    folder may be moved."""
    told = connection.settings_dict
    if connection.vendor == "sqlite":
        return Path(told["NAME"]).name
    return f"{told['HOST']}:{told['PORT']}/{told['NAME']}"


# --- newer than the program -----------------------------------------------------------


def refuse_newer() -> None:
    """UpgradeError when a newer version has migrated the database."""
    newer = unknown(MigrationRecorder(connection).applied_migrations())
    if newer:
        raise UpgradeError(
            "A newer version of Rigsite has used this data "
            f"({'.'.join(newer[0])} is unknown here). Start that version "
            "again, or restore a copy from before its upgrade (README, "
            "Updating)."
        )


def unknown(applied: Iterable[Migrated]) -> list[Migrated]:
    """Those of the applied migrations that this program does not have, in order."""
    return sorted(set(applied) - set(MigrationLoader(None).disk_migrations or ()))


# --- copied, migrated -----------------------------------------------------------------


def _with_a_copy() -> list[str]:
    copy = _copy()
    words = f"The database was copied to {copy} before it was upgraded."
    log.info(words)
    try:
        call_command("migrate", interactive=False, verbosity=0)
    except Exception as error:  # whatever it was, the old state is to be there again
        raise UpgradeError(_undone(error, copy)) from error
    for old in sorted(copy.parent.glob("*.db"))[:-COPIES_KEPT]:
        old.unlink()
    return [words]


def _copy() -> Path:
    size = Path(connection.settings_dict["NAME"]).stat().st_size
    free = shutil.disk_usage(settings.DATA).free
    if free < ROOM * size:
        raise UpgradeError(
            "The database needs an upgrade and is copied first. That needs "
            f"{_megabytes(ROOM * size)}, and {settings.DATA} has "
            f"{_megabytes(free)} free. Make room, then start again."
        )
    folder = Path(settings.DATA) / "before-upgrade"
    folder.mkdir(mode=0o700, exist_ok=True)
    copy = folder / f"rigsite-{timezone.now():%Y%m%d-%H%M%S}.db"
    copy.unlink(missing_ok=True)
    copy.touch(mode=0o600)
    copy_database(copy)
    return copy


def _megabytes(size: int) -> str:
    return f"{size / 1e6:,.0f} MB"


def _undone(error: Exception, copy: Path) -> str:
    """Put the copy back; in words what failed and what to do."""
    failed = f"The upgrade of the database failed at {_failed_at()} ({_line(error)})."
    connection.close()
    try:
        with (
            contextlib.closing(sqlite3.connect(copy)) as kept,
            contextlib.closing(
                sqlite3.connect(connection.settings_dict["NAME"], timeout=30)
            ) as ours,
        ):
            kept.backup(ours)
    except sqlite3.Error as second:
        return (
            f"{failed} The copy couldn't be restored ({second}). Copy {copy} over"
            f" {connection.settings_dict['NAME']} by hand, then start your "
            "earlier version."
        )
    copy.unlink()
    _begun().unlink(missing_ok=True)
    return (
        f"{failed} Your data is unchanged. Start your earlier version, and "
        "report this one."
    )


def _with_a_dump() -> list[str]:
    try:
        call_command("migrate", interactive=False, verbosity=0)
    except Exception as error:
        raise UpgradeError(
            f"The upgrade of the database failed at {_failed_at()} ({_line(error)})."
            " That step was undone; the steps before it were kept. Restore "
            "the dump you made before, start your earlier version, and report "
            "this one."
        ) from error
    return [
        "The PostgreSQL database was upgraded. Rigsite doesn't copy it: keep "
        "your dump from before."
    ]


def _failed_at() -> str:
    """The first migration that is not applied; each is one transaction."""
    with contextlib.suppress(Exception):
        return str(_steps()[0])
    return "a migration"


def _line(error: Exception) -> str:
    return (str(error) or type(error).__name__).splitlines()[0]


# --- reckoned -------------------------------------------------------------------------


def settle() -> None:
    """Reckon everything by the rules of this version. What they bring up, safety too,
    waits for the next digest: one mail a person."""
    now = timezone.now()
    for household in Household.objects.order_by("pk"):
        today = household.today(now)
        try:
            renew_household(household, as_of=today)
            raise_notices(household, today=today, now=now, at_once=False)
        except FactError as error:
            log.error("household %s could not be updated: %s", household.pk, error)
