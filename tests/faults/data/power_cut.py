"""The power goes right after the answer: what was acknowledged is on the disk.

The disk is a file with an ext4 of its own on a loop device. Right after the answer the
kernel cuts it off as it stands, what was not yet written is never written
(EXT4_IOC_SHUTDOWN in Linux, fs/ext4/ioctl.c); then its file is copied, and the copy is
mounted and looked at. That needs root and a loop device.
"""

import contextlib
import fcntl
import os
import shutil
import struct
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

from django.utils import timezone

from maintenance.disk import put_file
from rigsite.backup import noted
from rigsite.backup.making import make_backup
from rigsite.backup.nightly import back_up
from rigsite.backup.restoring import Source, finish_switch, restore, try_backup
from rigsite.backup.scratch import data_in_use
from tests.builders import make_household
from tests.faults.place import NAME, Place, files, households
from tests.faults.table import NotRun, data_fault

SHUTDOWN, WITHOUT_FLUSH = 0x8004587D, 2


@data_fault("power cut after a change and a photo")
def power_cut_after_a_change(place: Place) -> str:
    def act(data: Path) -> None:
        make_household(name="Birch Street")
        put_file(data / "files" / "proof" / "new.jpg", b"light")

    with _after_the_cut(place, act) as data:
        assert households(data) == [NAME, "Birch Street"]
        assert files(data)["proof/new.jpg"] == b"light"
    return "both are there"


@data_fault("power cut after a backup")
def power_cut_after_a_backup(place: Place) -> str:
    made: list[str] = []

    def act(data: Path) -> None:
        for path in (back_up(timezone.now()), make_backup(data, now=timezone.now())):
            made.append(path.relative_to(data).as_posix())

    with _after_the_cut(place, act) as data, data_in_use(data):
        for name in made:
            try_backup(Source(data / name), room=place.room)
        last = noted.noted(noted.NIGHTLY)
        assert last is not None
    return "the copy of the night and the one by hand open, and the note says so"


@data_fault("power cut after a restore")
def power_cut_after_a_restore(place: Place) -> str:
    with place.in_use():
        backup = make_backup(place.room, now=timezone.now())
        stored = files(place.data)
        make_household(name="Birch Street")

    def act(data: Path) -> None:
        restore(backup, now=timezone.now(), replace=True)

    with _after_the_cut(place, act) as data, data_in_use(data):
        assert not finish_switch()
        assert (households(data), files(data)) == ([NAME], stored)
    return "what was put back is there, whole"


@contextlib.contextmanager
def _after_the_cut(place: Place, act: Callable[[Path], None]) -> Iterator[Path]:
    """What a copy of the disk holds, cut off right after `act` had its answer."""
    if os.getuid() != 0:
        raise NotRun("no power was cut: that needs root")
    image, disk = place.room / "disk.img", place.room / "disk"
    with image.open("wb") as file:
        file.truncate(256 << 20)
    disk.mkdir()
    try:
        _call("mkfs.ext4", "-q", "-F", image)
        _call("mount", "-o", "loop", image, disk)
    except OSError as error:
        raise NotRun(f"no power was cut: {error}") from None
    with _taken_out(disk):
        shutil.copytree(place.data, disk / "data")
        os.sync()  # what was there before is on the disk
        with data_in_use(disk / "data", durable=True):
            act(disk / "data")
            _cut(disk)
            shutil.copy(image, place.room / "copy.img")
    _call("mount", "-o", "loop", place.room / "copy.img", disk)
    with _taken_out(disk):
        yield disk / "data"


def _cut(disk: Path) -> None:
    handle = os.open(disk, os.O_RDONLY)
    try:
        fcntl.ioctl(handle, SHUTDOWN, struct.pack("I", WITHOUT_FLUSH))
    finally:
        os.close(handle)


@contextlib.contextmanager
def _taken_out(disk: Path) -> Iterator[None]:
    try:
        yield
    finally:
        _call("umount", disk)


def _call(*command: str | Path) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise OSError(done.stderr.strip())
