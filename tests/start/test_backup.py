"""Backup and restore by their commands, on data folders of their own."""

import fcntl
import json
import os
import shutil
import sqlite3
import subprocess
import zipfile

import pytest
from django.core.management import CommandError, call_command

from rigsite.backup import switching
from rigsite.backup.scratch import data_in_use
from rigsite.backup.switching import Switch
from rigsite.paths import CHECKOUT, environment_python
from tests.builders import make_household, make_member
from tests.service_records.chain_parts import make_chain

pytestmark = pytest.mark.whole_program


def manage(data, *arguments):
    return subprocess.run(
        [environment_python(), CHECKOUT / "manage.py", *map(str, arguments)],
        env=os.environ | {"RIGSITE_DATA": str(data), "LOG_LEVEL": "ERROR"},
        capture_output=True,
        text=True,
        check=False,
    )


def found(data):
    """Households of a data folder, and the text of its one kept file."""
    with sqlite3.connect(data / "rigsite.db") as database:
        rows = database.execute("SELECT name FROM households_household").fetchall()
    kept = data / "files" / "proof" / "invoice.pdf"
    return [name for (name,) in rows], kept.read_text() if kept.exists() else None


@pytest.fixture(scope="module")
def fill(django_db_blocker):
    """fill(data, name): a household with a chain of records, and a file."""

    def make(data, name):
        with django_db_blocker.unblock(), data_in_use(data):
            make_chain(make_member(make_household(name=name)))
        (data / "files" / "proof").mkdir(parents=True, exist_ok=True)
        (data / "files" / "proof" / "invoice.pdf").write_text(f"paid by {name}")
        (data / "files" / "proof" / ".photo.jpg-1.half").touch()  # on its way

    return make


@pytest.fixture(scope="module")
def lived_in(migrated, fill, tmp_path_factory):
    """A data folder with one household."""
    data = migrated(tmp_path_factory.mktemp("lived"))
    fill(data, "Alder Lane")
    return data


@pytest.fixture(scope="module")
def good(lived_in, tmp_path_factory):
    """A good backup of it."""
    to = tmp_path_factory.mktemp("good")
    done = manage(lived_in, "backup", to)
    assert done.returncode == 0, done.stderr
    assert "Tested: good." in done.stdout
    (made,) = to.glob("*.zip")
    return made


def test_backup_then_restored_in_an_empty_place_everything_is_there(
    lived_in, good, tmp_path
):
    empty = tmp_path / "empty"

    done = manage(empty, "restore", good)

    assert done.returncode == 0, done.stderr
    assert "This computer has its own secret. Log in again" in done.stdout
    assert found(empty) == (["Alder Lane"], "paid by Alder Lane")
    assert json.loads((lived_in / "last-backup.json").read_text())["path"] == str(good)
    assert [each.name for each in (empty / "files").rglob("*.half")] == []
    assert list(empty.glob("before-restore-*")) == []  # nothing was there before
    # To the microsecond: so the moments of records are chained.
    checked = manage(empty, "verify_chain")
    assert "3 records and 1 files: hold" in checked.stdout
    assert checked.returncode == 0


def test_restore_when_only_files_are_left_then_those_are_kept_aside(
    good, migrated, tmp_path
):
    """Of a machine whose database is gone: they may be newer than the backup."""
    data = migrated(tmp_path / "data")
    (data / "files" / "proof").mkdir(parents=True)
    (data / "files" / "proof" / "later.jpg").write_bytes(b"later")

    done = manage(data, "restore", good)

    assert done.returncode == 0, done.stderr
    (aside,) = data.glob("before-restore-*")
    kept = [each.name for each in aside.rglob("*") if each.is_file()]
    assert kept == ["later.jpg"]


def test_restore_over_a_household_then_refused_and_with_replace_moved_aside(
    lived_in, good, fill, tmp_path
):
    other = tmp_path / "other"
    shutil.copytree(lived_in, other)
    fill(other, "Birch Street")

    refused = manage(other, "restore", good)
    assert refused.returncode == 1
    assert "--replace" in refused.stderr
    assert found(other)[0] == ["Alder Lane", "Birch Street"]

    assert manage(other, "restore", good, "--replace").returncode == 0
    assert found(other) == (["Alder Lane"], "paid by Alder Lane")
    (aside,) = other.glob("before-restore-*")
    assert found(aside)[0] == ["Alder Lane", "Birch Street"]


def changed(made, to, change):
    """The backup with its parts changed by `change(name, data)`."""
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(to, "w") as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
    return to


def flip(name, data):
    return data.replace(b"paid", b"owed") if name.endswith(".pdf") else data


def newer(name, data):
    if name != "manifest.json":
        return data
    manifest = json.loads(data)
    manifest["migrations"].append(["vehicles", "9999_of_the_future"])
    return json.dumps(manifest).encode()


def fewer(name, data):
    if name != "manifest.json":
        return data
    manifest = json.loads(data)
    manifest["rows"]["households_household"] = 2
    return json.dumps(manifest).encode()


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (flip, "invoice.pdf isn't what was stored"),
        (fewer, "different rows than were stored"),
        (newer, "newer than this one"),
    ],
)
def test_backup_that_does_not_fit_then_refused_and_nothing_is_changed(
    good, tmp_path, django_db_blocker, change, word
):
    bad = changed(good, tmp_path / "bad.zip", change)
    empty = tmp_path / "empty"

    with (
        django_db_blocker.unblock(),
        data_in_use(empty),
        pytest.raises(CommandError, match=word),
    ):
        call_command("restore", bad)

    assert not (empty / "files").exists()


def test_file_that_is_no_backup_then_one_line_says_so(tmp_path):
    (tmp_path / "x.zip").write_text("no")

    done = manage(tmp_path, "restore", tmp_path / "x.zip", "--try")

    assert done.returncode == 1
    assert "isn't a complete backup" in done.stderr
    assert "Traceback" not in done.stderr


def test_command_when_a_restore_was_interrupted_then_that_is_ended_first(
    lived_in, migrated, fill, tmp_path
):
    other = migrated(tmp_path / "other")
    fill(other, "Birch Street")
    place = other / ".restore-1"
    place.mkdir()
    for name in ("rigsite.db", "files"):
        copy = shutil.copytree if (lived_in / name).is_dir() else shutil.copy
        copy(lived_in / name, place / name)
    moves = [(str(place / name), str(other / name)) for name in ("rigsite.db", "files")]
    gone = [("", str(other / f"rigsite.db-{end}")) for end in ("wal", "shm")]
    aside = other / "before-restore-1"
    switching.begin(other, Switch([*gone, *moves], str(aside), str(place)))

    done = manage(other, "recheck")

    assert done.returncode == 0, done.stderr
    assert found(other) == (["Alder Lane"], "paid by Alder Lane")
    assert found(aside) == (["Birch Street"], "paid by Birch Street")
    assert not place.exists()


def test_command_while_a_restore_is_on_then_refused(lived_in, tmp_path):
    data = tmp_path / "data"
    shutil.copytree(lived_in, data)
    switching.begin(data, Switch([], str(data / "aside"), str(data / "place")))
    with (data / "running").open("a+") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        done = manage(data, "recheck")

    assert done.returncode == 1
    assert done.stderr == "A backup is being restored. Wait until it's done.\n"
