"""Faults of what is kept: database, files, disk. Disks of a size and read-only ones are
mounts of their own, for which root is needed."""

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.db import connection

from rigsite.paths import CHECKOUT
from tests.faults.house import House
from tests.faults.table import NotRun, job_fault

MB = 1_000_000
NEEDS_ROOT = "root is needed to mount a disk"

# In a process of its own, with another data folder: a keeper, a rig and a browser.
BROWSER = """
import io, sys, uuid
import django; django.setup()
from django.conf import settings
settings.ALLOWED_HOSTS = ["*"]
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from maintenance.households.models import Member
from tests.builders import make_member, make_rig
member = Member.objects.first() or make_member()
rig = member.household.rigs.first() or make_rig(member.household)
browser = Client(raise_request_exception=False)
browser.force_login(member.user, "django.contrib.auth.backends.ModelBackend")
def photo():
    out = io.BytesIO()
    Image.effect_noise((1500, 1000), 90).convert("RGB").save(out, "JPEG")
    return SimpleUploadedFile("it.jpg", out.getvalue(), "image/jpeg")
def add_manual(title):
    form = {"title": title, "upload": photo(), "form_token": str(uuid.uuid4())}
    return browser.post(f"/rigs/{rig.pk}/manuals/add/", form)
def tell(answer):
    print(answer.status_code, " ".join(answer.text.split()))
"""


# --- the database ---------------------------------------------------------------------


@job_fault("database of 0 bytes where there was one")
def empty_database(house: House) -> str:
    with _copy(house) as data:
        assert _run(data, "-m", "rigsite.prepare").returncode == 0
        made = _run(data, "manage.py", "backup")
        assert made.returncode == 0, made.stderr
        _remove(data)
        (data / "rigsite.db").touch()

        done = _run(data, "-m", "rigsite.prepare")

        assert done.returncode == 1
        assert "is empty, but it had records" in done.stderr, done.stderr
        _restored(data, done.stderr)
    return "start refuses, names backup and command; the command brings it back"


@job_fault("damaged database")
def damaged_database(house: House) -> str:
    with _copy(house) as data:
        assert _run(data, "-m", "rigsite.prepare").returncode == 0
        assert _run(data, "manage.py", "backup").returncode == 0
        path = data / "rigsite.db"
        spoiled = bytearray(path.read_bytes())
        spoiled[4096 * 10 : 4096 * 30] = b"\xff" * 4096 * 20
        path.write_bytes(spoiled)

        done = _run(data, "-m", "rigsite.prepare")

        assert done.returncode == 1
        assert "is damaged" in done.stderr, done.stderr
        assert path.read_bytes() == spoiled
        assert _run(data, "manage.py", "checkup").returncode == 2
        _restored(data, done.stderr)
    return "start refuses, checkup says 2; the backup brings it back"


def _restored(data: Path, words: str) -> None:
    """By the very command that was named."""
    command = words.split("python3 manage.py ")[1].split(" (", maxsplit=1)[0].split()
    done = _run(data, "manage.py", *command)
    assert done.returncode == 0, done.stderr
    assert _integrity(data) == "ok"
    assert _run(data, "-m", "rigsite.prepare").returncode == 0


# --- files ----------------------------------------------------------------------------


@job_fault("a file missing")
def file_missing(house: House) -> str:
    words = _spoiled_file(house, "path.unlink()")
    assert "404" in words, words
    assert "no longer on the disk" in words, words
    return "a page of words; checkup says 2 and names it"


@job_fault("a file of 8 bytes")
def file_broken(house: House) -> str:
    words = _spoiled_file(house, "path.write_bytes(b'8 bytes!')")
    assert "404" in words, words
    assert "is damaged on the disk" in words, words
    return "a page of words, not the 8 bytes; checkup says 2"


def _spoiled_file(house: House, spoil: str) -> str:
    code = f"""
add_manual("Chassis book")
from maintenance.vehicles.manuals import path_of
from maintenance.vehicles.models import Manual
row = Manual.objects.get()
path = path_of(row)
{spoil}
tell(browser.get(f"/manuals/{{row.key}}/file/"))
"""
    with _copy(house) as data:
        said = _browse(data, code)
        checked = _run(data, "manage.py", "checkup")
        assert checked.returncode == 2
        assert "Files: 1 missing or damaged" in checked.stdout, checked.stdout
        return said


# --- the disk -------------------------------------------------------------------------


@job_fault("data folder that can only be read")
def read_only_folder(house: House) -> str:
    with _copy(house, size=60) as data:
        assert _run(data, "-m", "rigsite.prepare").returncode == 0
        subprocess.run(["mount", "-o", "remount,ro", data], check=True)

        done = _run(data, "manage.py", "checkup")
        begun = _run(data, "-m", "rigsite.prepare")

        subprocess.run(["mount", "-o", "remount,rw", data], check=True)
        assert done.returncode == 2
        assert "is read-only" in done.stdout, done.stdout
        assert begun.returncode == 1
        assert "Traceback" not in begun.stderr + done.stderr
        assert _integrity(data) == "ok"
    return "start and checkup say so; the database is whole"


@job_fault("disk full while uploading")
def disk_full_uploading(house: House) -> str:
    with _copy(house, size=60) as data:
        refused = _browse(data, 'tell(add_manual("Chassis book"))')
        assert "nearly full" in refused, refused
        assert "Chassis book" in refused, "what was typed is gone"
        _fill(data, left=200_000)
        late = "from maintenance.vehicles import uploads; uploads.LEFT_FREE = -10**9\n"
        midway = _browse(data, f'{late}tell(add_manual("Chassis book"))')
        assert "nearly full" in midway, midway
        _make_room(data)
        assert not list((data / "files").glob("*/*")), "half a file is left"
        assert _integrity(data) == "ok"
    return "refused at the field, what was typed stays; nothing half is left"


@job_fault("disk full while committing")
def disk_full_committing(house: House) -> str:
    note = """
value = sys.argv[1]
meter = rig.meters.get(kind="odometer").pk
form = {"meter": meter, "value": value, "on": member.household.today(), "volume": "",
        "price": "", "form_token": str(uuid.uuid4())}
tell(browser.post(f"/rigs/{rig.pk}/reading/", form, follow=True))
"""
    with _copy(house, size=60) as data:
        first = _browse(data, note, "41000")
        assert "Saved" in first, first
        filled = f"""
import errno
with open({str(data / "filler")!r}, "ab", buffering=0) as filler:
    try:
        while True:
            filler.write(bytes(4096))
    except OSError as error:
        assert error.errno == errno.ENOSPC
{note}"""
        refused = _browse(data, filled, "41010")
        assert refused.startswith("507"), refused
        assert "Make room" in refused, refused
        _make_room(data)
        assert _integrity(data) == "ok"
        again = _browse(data, note, "41010")
        assert "Saved" in again, again
    return "a page of words, nothing half stored; with room it is saved"


# --- what these use -------------------------------------------------------------------


@contextlib.contextmanager
def _copy(house: House, size: int = 0) -> Iterator[Path]:
    """A data folder of its own with a copy of the database, migrated; with `size`, on a
    disk of so many megabytes."""
    if connection.vendor != "sqlite":
        raise NotRun("it is about SQLite's file")
    with tempfile.TemporaryDirectory(prefix="rig-") as name:
        data = Path(name)
        mounted = False
        if size:
            if os.geteuid() != 0:
                raise NotRun(NEEDS_ROOT)
            options = ["-t", "tmpfs", "-o", f"size={size}m,mode=700", "tmpfs", name]
            mounted = not subprocess.run(["mount", *options], check=False).returncode
            if not mounted:
                raise NotRun(NEEDS_ROOT)
        try:
            shutil.copytree(house.folder / "static", data / "static")
            with contextlib.closing(sqlite3.connect(data / "rigsite.db")) as copy:
                connection.ensure_connection()
                connection.connection.backup(copy)
            yield data
        finally:
            if mounted:
                subprocess.run(["umount", "-l", name], check=True)


def _run(data: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    env = {**os.environ, "RIGSITE_DATA": str(data), "LOG_LEVEL": "ERROR"}
    env.pop("DATABASE_URL", None)
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=CHECKOUT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


def _browse(data: Path, code: str, *arguments: str) -> str:
    done = _run(data, "-c", BROWSER + code, *arguments)
    assert done.returncode == 0, done.stderr
    return done.stdout


def _fill(data: Path, *, left: int) -> None:
    """All of the disk but so much; what the data takes is not touched."""
    with (data / "filler").open("ab") as filler:
        filler.write(bytes(max(shutil.disk_usage(data).free - left, 0)))


def _make_room(data: Path) -> None:
    (data / "filler").unlink()


def _remove(data: Path) -> None:
    for path in data.glob("rigsite.db*"):
        path.unlink()


def _integrity(data: Path) -> str:
    with contextlib.closing(sqlite3.connect(data / "rigsite.db")) as opened:
        return str(opened.execute("PRAGMA integrity_check").fetchone()[0])
