"""The disk is full while a backup is made: said in words, no half of it is left, and
the copies of before stay."""

import errno
import os
import subprocess
from pathlib import Path
from unittest import mock

import pytest
from django.test.utils import override_settings
from django.utils import timezone

from rigsite.backup import making, noted
from rigsite.backup.making import BackupError, make_backup
from rigsite.backup.nightly import back_up
from tests.faults.place import Place
from tests.faults.table import NotRun, data_fault


@data_fault("disk full while backing up")
def disk_full_while_backing_up(place: Place) -> str:
    if os.getuid() != 0:
        raise NotRun("a small disk needs root")
    small = place.room / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(small)]
    done = subprocess.run(mount, capture_output=True, text=True, check=False)
    if done.returncode:
        raise NotRun(done.stderr.strip())
    try:
        return _fill(place, small)
    finally:
        subprocess.run(["umount", str(small)], check=True)


def _fill(place: Place, small: Path) -> str:
    with place.in_use(), override_settings(BACKUP_FOLDER=small):
        words = _refused(place)
        assert " MB, and " in words, words
        # Without the look ahead: somebody else fills the disk meanwhile.
        with mock.patch.object(making, "SPARE", -(10**12)):
            first = back_up(timezone.now())
            before = _all(small)
            for number in range(8):
                photo = place.data / "files" / "proof" / f"{number}.jpg"
                photo.write_bytes(os.urandom(1_000_000))
            words = _refused(place)
            assert os.strerror(errno.ENOSPC) in words, words
        assert first.exists()
        assert before <= _all(small), "a copy of before is gone"
        assert not [path for path in _all(small) if path.name.endswith(".half")]
        said = noted.noted(noted.PROBLEM)
        assert said is not None
        assert os.strerror(errno.ENOSPC) in said["words"], said
        with pytest.raises(BackupError, match=" MB, and "):
            make_backup(small, now=timezone.now())
    return "said beforehand and in the midst of it, the copy of before stays"


def _refused(place: Place) -> str:
    try:
        back_up(timezone.now())
    except (BackupError, OSError) as error:
        return str(error)
    raise AssertionError("it was made on a full disk")


def _all(folder: Path) -> set[Path]:
    return {path for path in folder.rglob("*") if path.is_file()}
