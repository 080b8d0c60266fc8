"""A kept file that is gone or is another on the disk: backups go on, say so, and those
of before hold the good one."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from django.utils import timezone

from rigsite.backup import noted
from rigsite.backup.nightly import back_up
from rigsite.backup.restoring import Source, restore, try_backup
from tests.faults.place import Place, files
from tests.faults.table import data_fault


@data_fault("file missing, then put back")
def file_missing(place: Place) -> str:
    with place.in_use():
        return _struck(place, lambda path: path.unlink())


@data_fault("file broken, then put back")
def file_broken(place: Place) -> str:
    with place.in_use():
        return _struck(place, lambda path: path.write_bytes(b"8 bytes."))


def _struck(place: Place, strike: Callable[[Path], object]) -> str:
    good = back_up(timezone.now() - timedelta(days=1))
    kept = files(place.data)
    strike(next((place.data / "files" / "proof").glob("*.pdf")))
    noted.forget(noted.TRIAL)
    later = back_up(timezone.now())
    said = noted.noted(noted.TRIAL)
    assert said is not None
    assert said["good"], said
    assert said["doubts"], said
    assert try_backup(Source(later)).doubts == said["doubts"]
    restore(good, now=timezone.now(), replace=True)
    assert files(place.data) == kept
    return f"named ({said['doubts'][0]}); the copy of before brings it back"
