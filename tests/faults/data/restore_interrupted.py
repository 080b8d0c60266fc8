"""A restore that ends anywhere: what is there is the old or, once it had begun to take
its place, after the next command the new."""

import shutil
from pathlib import Path
from unittest import mock

from django.utils import timezone

from rigsite.backup import restoring, switching
from rigsite.backup.making import make_backup
from rigsite.backup.restoring import Restored, Source, finish_switch, restore
from tests.builders import make_household
from tests.faults.place import NAME, Place, files, households
from tests.faults.table import data_fault

LATER = "Birch Street"


class _PowerGone(BaseException):
    pass


@data_fault("restore interrupted")
def restore_interrupted(place: Place) -> str:
    with place.in_use():
        made = make_backup(place.room, now=timezone.now())
        stored = files(place.data)
        make_household(name=LATER)
        (place.data / "files" / "proof" / "later.jpg").write_bytes(b"later")
        now = files(place.data)
        ready = place.room / "ready"
        ready.mkdir()
        about = {"now": timezone.now(), "replace": True}
        done = restoring._make_ready(Source(made), ready, **about)
    shutil.copytree(place.data, place.room / "before")
    outcomes = set()
    steps = 0
    while (ended := _interrupted(place, made, done, after=steps)) is not None:
        found = households(place.data), files(place.data)
        assert found in (([NAME, LATER], now), ([NAME], stored)), (steps, found)
        assert found == ([NAME], stored) or not ended, steps
        outcomes.add(found[0] == [NAME])
        steps += 1
    assert outcomes == {True, False}, "one side of it was never met"
    assert households(place.data) == [NAME]
    [aside] = place.data.glob("before-restore-*")
    assert households(aside) == [NAME, LATER]
    return f"at {steps} points: old before it took its place, new after"


def _interrupted(
    place: Place, made: Path, done: Restored, *, after: int
) -> bool | None:
    """Whether somebody had to end it; None when it came to its end."""

    def make_ready(_source: Source, to: Path, **_about: object) -> Restored:
        """Once for all: what is tried here comes after it."""
        shutil.copytree(place.room / "ready", to, dirs_exist_ok=True)
        return done

    shutil.rmtree(place.data)
    shutil.copytree(place.room / "before", place.data)
    with place.in_use():
        try:
            with (
                mock.patch.object(restoring, "_make_ready", make_ready),
                _power_gone_after(after),
            ):
                restore(made, now=timezone.now(), replace=True)
        except _PowerGone:
            return finish_switch()
    return None


def _power_gone_after(count: int):
    """Each step of the switch, and the writing of its mark, may be one too many."""
    left = [count]

    def stepping(step):
        def take(*args, **kwargs):
            if not left[0]:
                raise _PowerGone
            left[0] -= 1
            return step(*args, **kwargs)

        return take

    return mock.patch.multiple(
        switching,
        shutil=mock.Mock(wraps=shutil, rmtree=stepping(shutil.rmtree)),
        _carry=stepping(switching._carry),
        put_file=stepping(switching.put_file),
        sync_folder=stepping(switching.sync_folder),
    )
