"""Trying a backup, and putting it in the place of what is there."""

import contextlib
import fcntl
import os
import shutil
import tempfile
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from maintenance.core.facts import FactError
from maintenance.disk import make_folder
from maintenance.households.models import Household
from maintenance.plans.standings import recheck
from maintenance.reminders.models import SweepMark
from maintenance.reminders.services import begin_again, calendar_secrets
from maintenance.service_records.chain.verifying import head_of, verify
from maintenance.vehicles.models import Rig
from rigsite.backup import switching
from rigsite.backup.making import BackupError, write_lines
from rigsite.backup.scratch import data_in_use
from rigsite.backup.switching import Switch
from rigsite.backup.unpacking import FILES, Manifest, Source, open_backup
from rigsite.upgrade import begin, unknown, upgrade

__all__ = [
    "BackupError",
    "Restored",
    "Source",
    "finish_switch",
    "restore",
    "try_backup",
]


@dataclass(frozen=True, slots=True)
class Restored:
    """`doubts`: what did not fit the chain of records where the backup was made, and
    does not fit here. `bare`: there was no household before."""

    manifest: Manifest
    doubts: list[str] = field(default_factory=list)
    bare: bool = True

    @property
    def words(self) -> str:
        rows = sum(self.manifest["rows"].values())
        return f"{rows:,} rows, {len(self.manifest['files']) - 1:,} files"


def try_backup(
    source: Source, *, room: Path | None = None, as_made: bool = False
) -> Restored:
    """Restore it into scratch and hold it against its manifest: digests, rows, heads of
    chains. `as_made`: this program just made it, so its standings, too, are to be those
    that are reckoned from scratch.

    `BackupError` names the first thing that does not fit.
    """
    room = room or source.path.parent
    with tempfile.TemporaryDirectory(dir=room, prefix=".trial-") as made:
        place = Path(made)
        manifest = open_backup(source, place)
        _refuse_newer(manifest)
        return Restored(manifest, _hold(place, manifest, as_made=as_made))


def _hold(place: Path, manifest: Manifest, *, as_made: bool) -> list[str]:
    """Bring a data folder up to this version; BackupError where it is not as the
    manifest says. Its doubts."""
    with data_in_use(place):
        if not as_made:
            begin()  # what came back is reckoned anew, as after an upgrade
        upgrade()
        found = {str(rig.row_key): head_of(rig) for rig in Rig.objects.all()}
        for rig, head in manifest.get("heads", {}).items():
            ours = found.get(rig)
            if ours is None or ours.words != head:
                raise BackupError("The tamper check of a rig in it doesn't match.")
        doubts = [
            words for each in Household.objects.all() if (words := _recheck(each))
        ]
        if doubts and as_made:
            raise BackupError(" ".join(doubts))
        results = [(rig, verify(rig)) for rig in Rig.objects.order_by("pk")]
    broken = [f"{rig}: {each.text}" for rig, result in results for each in result.found]
    return doubts + broken


def _recheck(household: Household) -> str:
    """In words what differs; nothing where all is as reckoned from scratch."""
    if household.reckoned_on is None:
        return ""
    try:
        wrong = len(recheck(household, as_of=household.reckoned_on))
    except FactError as error:
        return f"What's due in {household} can't be worked out: {error}"
    words = f"{wrong} jobs of {household} differ when worked out from scratch."
    return words if wrong else ""


def restore(
    path: Path, *, now: datetime, replace: bool, key: Path | None = None
) -> Restored:
    """Put a backup in the place of what is there, which is moved aside.

    Nothing is touched before the whole backup was opened in scratch, held against its
    manifest, brought up to this version and reckoned.
    """
    data = Path(settings.DATA)
    make_folder(data)
    with _nobody_else(data):
        finish_switch()
        place = Path(tempfile.mkdtemp(dir=data, prefix=".restore-"))
        try:
            done = _make_ready(Source(path, key), place, now=now, replace=replace)
            os.sync()  # what was made ready is on the disk before anything is moved
            switch = _switch(place, _aside(data, now), bare=done.bare)
        except BaseException:
            shutil.rmtree(place, ignore_errors=True)
            raise
        _take_place(data, switch)
    os.sync()
    return done


def _make_ready(
    source: Source, place: Path, *, now: datetime, replace: bool
) -> Restored:
    """A data folder of the backup, as it is to be used from now on."""
    manifest = open_backup(source, place)
    _refuse_newer(manifest)
    bare = not _is_in_use()
    if not bare and not replace:
        raise BackupError(
            "There's already a household here. With --replace, it's moved "
            "aside and the backup takes its place."
        )
    doubts = _hold(place, manifest, as_made=False)
    secrets = {} if bare else _calendar_secrets()
    with data_in_use(place):
        begin_again(now, secrets=secrets)
    return Restored(manifest, doubts, bare)


def _calendar_secrets() -> dict[str, str]:
    """Those that are subscribed to here; none from a database of another version."""
    with contextlib.suppress(DatabaseError):
        return calendar_secrets()
    return {}


def _refuse_newer(manifest: Manifest) -> None:
    if unknown((app, name) for app, name in manifest["migrations"]):
        raise BackupError(
            f"It was made by version {manifest['version']}, which is newer "
            "than this one. Install that version, then restore."
        )


@contextlib.contextmanager
def _nobody_else(data: Path) -> Iterator[None]:
    """Held as `start` holds it, so that neither runs beside the other."""
    with (data / "running").open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise BackupError("Rigsite is running. Stop it first.") from None
        yield


def _is_in_use() -> bool:
    """Whether a household lives here; one that cannot be read does."""
    try:
        if "households_household" not in connection.introspection.table_names():
            return False
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM households_household LIMIT 1")
            return cursor.fetchone() is not None
    except DatabaseError:
        if connection.vendor != "sqlite":
            raise  # a server that does not answer is none to write to
        return True


# --- in the place of what is there ----------------------------------------------------


def _aside(data: Path, now: datetime) -> Path:
    """A folder that is not there yet."""
    name = f"before-restore-{now:%Y%m%d-%H%M%S}"
    names = (name, *(f"{name}-{number}" for number in range(2, 1000)))
    return next(data / each for each in names if not (data / each).exists())


def _switch(place: Path, aside: Path, *, bare: bool) -> Switch:
    files = (str(place / FILES), str(settings.MEDIA_ROOT))
    if connection.vendor != "sqlite":
        row = f"restored-{uuid.uuid4().hex[:12]}"
        return Switch([files], str(aside), str(place), row)
    connection.close()
    database = str(connection.settings_dict["NAME"])
    # What belongs to the old database goes first: it must not meet the new one.
    gone = [database + end for end in ("-wal", "-shm")]
    moves = [("", each) for each in gone]
    moves += [(str(place / "rigsite.db"), database), files]
    empty = [Path(each).name for each in (database, *gone)] if bare else []
    return Switch(moves, str(aside), str(place), empty=empty)


def _take_place(data: Path, switch: Switch) -> None:
    make_folder(Path(switch.aside))
    if not switch.row:
        switching.begin(data, switch)
    else:
        with data_in_use(Path(switch.place)):
            lines = write_lines(Path(switch.place))
        call_command("migrate", interactive=False, verbosity=0)
        if _is_in_use():
            write_lines(Path(switch.aside))
        switching.begin(data, switch)
        _put_lines(lines, switch.row)
    finish_switch()


def _put_lines(lines: Path, row: str) -> None:
    """All rows in one transaction, with the mark that they are there."""
    with transaction.atomic():
        call_command("flush", interactive=False, verbosity=0)
        call_command("loaddata", str(lines), verbosity=0)
        SweepMark.objects.create(name=row, at=datetime.now().astimezone())


def finish_switch() -> bool:
    """Go on with a restore that was interrupted once it had begun to take the place of
    what was there; whether there was one. For whoever runs alone."""
    switch = switching.begun(Path(settings.DATA))
    if switch is None:
        _remove_leftovers(Path(settings.DATA))
        return False
    rows = SweepMark.objects.filter(name=switch.row)
    switching.finish(Path(settings.DATA), switch, begun=not switch.row or rows.exists())
    if switch.row:
        rows.delete()
    return True


class RestoreIsOn(Exception):
    """A restore puts data in place just now."""


def finish_interrupted() -> None:
    """The same for whoever runs beside others. RestoreIsOn while it is not over."""
    data = Path(settings.DATA)
    if switching.begun(data) is None:
        return
    try:
        with _nobody_else(data):
            finish_switch()
    except BackupError:
        raise RestoreIsOn("A backup is being restored. Wait until it's done.") from None


def _remove_leftovers(data: Path) -> None:
    """What a killed process had opened and not yet put in place, and half a mark."""
    for left in data.glob(".restore-*"):
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)
