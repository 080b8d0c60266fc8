"""A backup of which a part is missing: refused, and nothing is touched."""

from pathlib import Path

import pytest
from django.utils import timezone

from rigsite.backup.making import make_backup
from rigsite.backup.restoring import BackupError, restore
from tests.faults.place import NAME, Place, files, households
from tests.faults.table import data_fault


@data_fault("backup truncated")
def backup_truncated(place: Place) -> str:
    with place.in_use():
        made = make_backup(place.room, now=timezone.now())
        whole, kept = made.read_bytes(), files(place.data)
        for length in (0, 100, len(whole) // 2, len(whole) - 1):
            made.write_bytes(whole[:length])
            assert_refused(place, made)
    assert households(place.data) == [NAME]
    assert files(place.data) == kept
    return "refused at each of four lengths, nothing touched"


def assert_refused(place: Place, made: Path, words: str = "complete backup") -> None:
    with pytest.raises(BackupError, match=words):
        restore(made, now=timezone.now(), replace=True)
    assert not list(place.data.glob(".restore-*")), "something was left"
    assert not list(place.data.glob("before-restore-*")), "something was moved"
