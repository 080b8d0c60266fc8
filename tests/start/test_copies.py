"""The copies of the nights: when, which are kept, where, for whom."""

import hashlib
import random
import shutil
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from maintenance.disk import put_file
from rigsite.backup import nightly, noted
from rigsite.backup.copies import Copies, to_keep
from rigsite.backup.making import BackupError, make_backup
from rigsite.backup.restoring import Source, restore, try_backup
from rigsite.backup.scratch import data_in_use
from rigsite.backup.sealing import make_key
from rigsite.backup.telling import tell_of_backups
from tests.faults.place import NAME, files, households, make_template

DENVER = ZoneInfo("America/Denver")
NOON = datetime(2026, 5, 4, 18, tzinfo=UTC)  # in Denver
DAY = timedelta(days=1)


# --- which are kept -------------------------------------------------------------------


def test_to_keep_when_made_daily_for_two_years_then_days_weeks_and_months():
    made = [NOON - n * DAY for n in range(730)]

    kept = sorted(to_keep(made))

    assert kept[-7:] == [NOON - n * DAY for n in reversed(range(7))]
    weeks = {at.isocalendar()[:2] for at in kept}
    assert {at.isocalendar()[:2] for at in made[:28]} - weeks <= {(2026, 15)}
    months = {(at.year, at.month) for at in kept}
    assert len(months) == 12
    assert len(kept) <= 7 + 4 + 12


def test_to_keep_when_asked_each_day_then_what_is_to_be_kept_later_is_still_there():
    """Forgetting day by day keeps as much as forgetting once: a month's last copy is
    not gone before its month is over."""
    chance = random.Random(5)  # noqa: S311
    there: set[datetime] = set()
    for n in range(500):
        if chance.random() < 0.8:
            there.add(NOON + n * DAY)
        there = to_keep(there)
    months = {(at.year, at.month) for at in there}
    assert len(months) == 12
    assert len({at.date() for at in there}) >= 7


def test_to_keep_when_the_machine_was_off_for_a_year_then_the_old_ones_stay():
    old = {NOON - 400 * DAY - n * DAY for n in range(10)}

    assert to_keep(old | {NOON}) >= {NOON, max(old)}


# --- when -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("last", "due"),
    [
        (None, True),
        (NOON - timedelta(hours=9), False),  # 3:00 in Denver: after this night's hour
        (NOON - timedelta(hours=11), True),  # 1:00: before it
        (NOON - 3 * DAY, True),
        (NOON + 400 * DAY, True),  # the clock was ahead then
    ],
)
def test_backup_when_the_night_has_passed_then_due(last, due):
    if last:
        noted.note(noted.NIGHTLY, now=last, path="x")

    assert nightly.is_due(NOON, DENVER) is due


def test_backup_when_it_failed_just_now_then_not_tried_again_at_once():
    noted.note(noted.PROBLEM, now=NOON - timedelta(minutes=10), words="full")

    assert not nightly.is_due(NOON, DENVER)
    assert nightly.is_due(NOON + timedelta(hours=1), DENVER)


# --- made -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def template(migrated, tmp_path_factory, django_db_blocker):
    folder = tmp_path_factory.mktemp("copies")
    empty = migrated(folder / "migrated") / "rigsite.db"
    with django_db_blocker.unblock():
        make_template(folder / "template", migrated=empty)
    return folder / "template"


@pytest.fixture
def data(template, tmp_path, db):
    folder = tmp_path / "data"
    shutil.copytree(template, folder)
    with data_in_use(folder):
        yield folder


def told(what: str) -> dict[str, Any]:
    said = noted.noted(what)
    assert said is not None
    return said


def stored(data: Path) -> set[Path]:
    return set((data / "backups" / "nightly" / "files").glob("*/*"))


def test_copies_when_made_on_two_days_then_a_file_lies_there_once(data):
    first = nightly.back_up(NOON)
    once = stored(data)
    second = nightly.back_up(NOON + DAY)

    assert first.exists()
    assert stored(data) == once
    assert len(once) == len(set(files(data).values()))
    assert {path.stat().st_mode & 0o077 for path in once | {first, second}} == {0}
    assert told(noted.TRIAL)["good"]
    assert try_backup(Source(first)).manifest["heads"]


def test_copies_when_old_ones_go_then_the_files_that_only_they_had(data):
    put_file(data / "files" / "proof" / "short.jpg", b"short-lived")
    nightly.back_up(NOON)
    before = len(stored(data))
    (data / "files" / "proof" / "short.jpg").unlink()
    nightly.back_up(NOON + timedelta(hours=1))  # the newest of its day stays

    assert len(stored(data)) == before - 1
    assert len(Copies(nightly.nightly_folder()).made()) == 1


def test_copies_when_a_list_is_gone_then_no_file_goes(data):
    put_file(data / "files" / "proof" / "short.jpg", b"short-lived")
    first = nightly.back_up(NOON)
    before = stored(data)
    first.with_name(f"{first.name}.files").unlink()
    (data / "files" / "proof" / "short.jpg").unlink()
    nightly.back_up(NOON + DAY)

    assert stored(data) >= before


def test_copies_when_a_stored_file_went_bad_then_told_and_stored_anew(data):
    nightly.back_up(NOON)
    bad = next(iter(stored(data)))
    whole = bad.read_bytes()
    bad.write_bytes(b"rotten")
    later = nightly.back_up(NOON + DAY)
    with pytest.raises(BackupError, match="isn't what was stored"):
        try_backup(Source(later))

    nightly.back_up(NOON + 8 * DAY)  # a trial is due: what is stored is read again

    assert bad.read_bytes() == whole
    assert told(noted.TRIAL)["good"]


def test_copies_when_the_disk_is_not_mounted_then_said_and_not_made(
    data, settings, tmp_path
):
    settings.BACKUP_FOLDER = str(tmp_path / "stick")
    (tmp_path / "stick").mkdir()
    nightly.back_up(NOON)
    (tmp_path / "stick").rename(tmp_path / "unplugged")
    (tmp_path / "stick").mkdir()

    with pytest.raises(BackupError, match="connect and mount it"):
        nightly.back_up(NOON + DAY)

    assert not list((tmp_path / "stick").iterdir())
    assert "mount it" in told(noted.PROBLEM)["words"]


# --- read back ------------------------------------------------------------------------


@pytest.fixture(params=["clear", "encrypted"])
def kept_both_ways(request, data, settings, tmp_path) -> Path:
    if request.param == "encrypted":
        settings.BACKUP_KEY = make_key(tmp_path / "key.txt")
    return data


def test_stored_copies_when_whole_then_each_week_it_is_said(kept_both_ways):
    for day in range(9):
        nightly.back_up(NOON + day * DAY)
        assert (noted.noted(noted.STORED) is None) == (day < 7)

    said = told(noted.STORED)
    assert (said["at"], said["good"]) == (NOON + 7 * DAY, True)
    # Seven copies, and the files that they share.
    assert said["words"] == f"{7 + len(stored(kept_both_ways))} files, all unchanged."


def test_stored_file_when_it_went_bad_then_said_and_stored_anew(kept_both_ways):
    nightly.back_up(NOON)
    bad = next(iter(stored(kept_both_ways)))
    spoiled = bytearray(bad.read_bytes())
    spoiled[-1] ^= 1
    bad.write_bytes(spoiled)

    nightly.back_up(NOON + 7 * DAY)
    assert not told(noted.STORED)["good"]
    assert (
        f"1 damaged of 2 files: files/{bad.parent.name}/{bad.name}."
        in (told(noted.STORED)["words"])
    )
    nightly.back_up(NOON + 14 * DAY)
    assert told(noted.STORED)["good"]


def test_older_copy_when_it_or_its_file_is_gone_bad_then_said(kept_both_ways):
    short = kept_both_ways / "files" / "proof" / "short.jpg"
    put_file(short, b"short-lived")
    copy = nightly.back_up(NOON)
    short.unlink()
    only_there = stored(kept_both_ways)
    nightly.back_up(NOON + DAY)
    copy.write_bytes(copy.read_bytes()[:-1])
    (gone,) = [
        each
        for each in only_there
        if hashlib.sha256(b"short-lived").hexdigest() in each.name
    ]
    gone.unlink()

    nightly.back_up(NOON + 7 * DAY)

    words = told(noted.STORED)["words"]
    assert words.startswith("1 damaged and 1 missing of ")
    assert copy.name in words
    assert gone.name.removesuffix(".age") in words
    [row] = [
        row for row in tell_of_backups(NOON + 7 * DAY) if row[0] == "Stored backups"
    ]
    assert not row[1]
    assert "Check that disk" in row[2]


def test_copies_when_an_earlier_version_noted_nothing_then_noted_from_then_on(
    data, settings, tmp_path
):
    settings.BACKUP_KEY = make_key(tmp_path / "key.txt")
    copy = nightly.back_up(NOON)
    (copy.parent / "digests.json").unlink()
    nightly.back_up(NOON + 7 * DAY)
    assert told(noted.STORED)["good"]

    copy.write_bytes(b"rotten")
    nightly.back_up(NOON + 14 * DAY)

    assert copy.name in told(noted.STORED)["words"]


# --- encrypted ------------------------------------------------------------------------


def test_backups_when_there_is_a_key_then_only_it_opens_them(data, settings, tmp_path):
    key = tmp_path / "key.txt"
    settings.BACKUP_KEY = make_key(key)
    assert key.stat().st_mode & 0o077 == 0
    kept = files(data)

    copy = nightly.back_up(NOON)
    whole = make_backup(tmp_path / "to", now=NOON, public=settings.BACKUP_KEY)

    assert told(noted.TRIAL)["good"]  # of the clear one, which is gone
    everything = [*copy.parent.rglob("*"), *whole.parent.rglob("*")]
    text = b"".join(path.read_bytes() for path in everything if path.is_file())
    assert NAME.encode() not in text
    assert not any(data_of_file in text for data_of_file in kept.values())
    for path in (copy, whole):
        with pytest.raises(BackupError, match="is encrypted: add --key"):
            try_backup(Source(path))
        make_key(tmp_path / f"other-{path.name}.txt")
        with pytest.raises(BackupError, match="or the key is wrong"):
            try_backup(Source(path, tmp_path / f"other-{path.name}.txt"))
        (data / "rigsite.db").rename(tmp_path / f"{path.name}.db")
        sqlite3.connect(data / "rigsite.db").close()
        restore(path, now=NOON, replace=True, key=key)
        assert (households(data), files(data)) == ([NAME], kept)
