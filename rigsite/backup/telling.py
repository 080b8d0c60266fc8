"""How it stands with backups, in words for the page Status."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.utils.timesince import timesince

from rigsite.backup import noted
from rigsite.backup.nightly import TRIED_EVERY

# A night may pass while the machine is off.
OLDEST = timedelta(days=2)
OLDEST_TRIAL = TRIED_EVERY + timedelta(days=2)
OLDEST_ELSEWHERE = timedelta(days=31)

Told = tuple[str, bool, str]  # what, whether it is good, in words


def tell_of_backups(now: datetime) -> Iterator[Told]:
    yield _last(now)
    yield _trial(now)
    yield _stored(now)
    yield _elsewhere(now)


def _last(now: datetime) -> Told:
    what, last, problem = (
        "Last backup",
        *map(noted.noted, (noted.BACKUP, noted.PROBLEM)),
    )
    if problem and (last is None or problem["at"] >= last["at"]):
        words = f"the last attempt, {ago(problem['at'], now)}, failed: "
        before = f" Before: {ago(last['at'], now)}, {last['path']}." if last else ""
        return what, False, f"{words}{problem['words']}{before}"
    if last is None:
        words = "never. It's made each night, or make one now: manage.py backup"
        return what, False, words
    fresh = now - last["at"] <= OLDEST
    return what, fresh, f"{ago(last['at'], now)}, {last['path']}."


def _trial(now: datetime) -> Told:
    what, last = "Backup tried", noted.noted(noted.TRIAL)
    if last is None:
        return what, False, "never. The next nightly backup gets a trial restore."
    if not last["good"]:
        return what, False, f"{ago(last['at'], now)}, it didn't open: {last['words']}"
    words = f"{ago(last['at'], now)}, trial restore: {last['words']}, all good."
    for doubt in last["doubts"]:
        words += f" As here: {doubt}"
    return what, now - last["at"] <= OLDEST_TRIAL, words


def _stored(now: datetime) -> Told:
    """No warning of its own before the first time: it comes with the trial."""
    what, last = "Stored backups", noted.noted(noted.STORED)
    if last is None:
        return what, True, "not read back yet. That happens each week, with the trial."
    words = f"read back {ago(last['at'], now)}: {last['words']}"
    if not last["good"]:
        words += (
            " Files you still have were stored again; older backups may not "
            "restore in full. Check that disk, and keep a backup on another."
        )
    return what, last["good"], words


def _elsewhere(now: datetime) -> Told:
    what, last = "Backup on another disk", noted.noted(noted.ELSEWHERE)
    if last and now - last["at"] <= OLDEST_ELSEWHERE:
        return what, True, f"{ago(last['at'], now)}."
    when = f"the last {ago(last['at'], now)}" if last else "none"
    return (
        what,
        False,
        f"{when}. All copies are on the same disk as your data: if it breaks, "
        "everything is gone. Download one and keep it elsewhere, or set "
        "BACKUP_FOLDER to another disk.",
    )


def ago(moment: datetime, now: datetime) -> str:
    return f"{timesince(moment, now, depth=1)} ago".replace("\xa0", " ")
