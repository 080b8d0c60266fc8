"""Which window a notice is about, and which repeat of it is due."""

from collections.abc import Iterator
from datetime import date, timedelta

from maintenance.core.facts import Point, Standing, TriggerKind, Window
from maintenance.core.notices.values import ItemNow, Stage, Told
from maintenance.core.triggers.kinds import FOLLOW_UPS

# Days since the first day on which a notice comes again; after the last, monthly.
OVERDUE_REPEATS = (0, 7, 14, 21, 28)
# Due by expectation ends only with a reading, and may mean a loose wheel: ask sooner.
EXPECTED_REPEATS = (0, 1, 3, 7, 14, 21, 28)
MONTHLY = 30


AGE = "age:past"


def event_windows(item: ItemNow) -> tuple[str, ...]:
    """What is told at once though its own window says nothing new: each event whose
    check is open, and a part that has become too old to travel on."""
    events = tuple(f"event:{name}" for name in item.events) if item.safety else ()
    return (*events, AGE) if item.unfit_by == "age" else events


def governing_window(standing: Standing) -> str:
    if standing.window is None:
        return ""
    return _name(standing.governing, standing.window)


def same_work(standing: Standing) -> frozenset[str]:
    """The windows that ask for one and the same work as the governing one."""
    return frozenset(_name(kind, window) for kind, window in _windows(standing))


def _windows(standing: Standing) -> Iterator[tuple[TriggerKind | None, Window]]:
    """The governing window, and the others that the same work satisfies.

    An item due by distance or date is governed now by the one, now by the other, as
    its forecast moves: what was told under one holds for both. Each follow-up of an
    event is a work of its own.
    """
    if standing.window is not None:
        yield standing.governing, standing.window
    if standing.governing not in FOLLOW_UPS:
        for pending in standing.pending:
            if pending.kind not in FOLLOW_UPS:
                yield pending.kind, pending.window


def _name(kind: TriggerKind | None, window: Window) -> str:
    return f"{kind}:{_point(window.closes)}"


def _point(point: Point) -> str:
    if isinstance(point, date):
        return point.isoformat()
    return f"{point.meter}:{point.value.normalize():f}"


def repeat_number(
    stage: Stage, standing: Standing, same: list[Told], as_of: date
) -> int:
    """Which repeat is due: only the latest is ever raised, so silence stays one."""
    if stage == "overdue":
        first = _first_overdue(standing, same, as_of)
        return repeats_since(first, as_of)
    if stage == "due" and standing.expected:
        first = _first_told("due", same, as_of)
        return repeats_since(first, as_of, EXPECTED_REPEATS)
    return 0


def _first_overdue(standing: Standing, same: list[Told], as_of: date) -> date:
    """The day after the first closes passed; on a meter, the day it was first told."""
    closed = [
        window.closes + timedelta(days=1)
        for _, window in _windows(standing)
        if isinstance(window.closes, date)
    ]
    return min([*closed, _first_told("overdue", same, as_of)])


def _first_told(stage: Stage, same: list[Told], as_of: date) -> date:
    return min([*(row.on for row in same if row.key.stage == stage), as_of])


def repeats_since(
    first: date, as_of: date, steps: tuple[int, ...] = OVERDUE_REPEATS
) -> int:
    """Which repeat of what was first so on `first` is due; before it, as on it."""
    days = max(0, (as_of - first).days)
    passed = sum(step <= days for step in steps) - 1
    return passed + max(0, days - steps[-1]) // MONTHLY


def next_repeat(
    stage: Stage, standing: Standing, same: list[Told], as_of: date
) -> date | None:
    """The next day on which a notice of this stage comes again; None: never."""
    steps: tuple[int, ...] = OVERDUE_REPEATS
    if stage == "overdue":
        first = _first_overdue(standing, same, as_of)
    elif stage == "due" and standing.expected:
        first, steps = _first_told("due", same, as_of), EXPECTED_REPEATS
    else:
        return None
    return repeat_after(first, as_of, steps)


def repeat_after(
    first: date, as_of: date, steps: tuple[int, ...] = OVERDUE_REPEATS
) -> date:
    """The first day after `as_of` on which what was first so on `first` is repeated."""
    gone = (as_of - first).days
    months = max(0, gone - steps[-1]) // MONTHLY + 1
    ahead = [step for step in steps if step > gone] or [steps[-1] + months * MONTHLY]
    return first + timedelta(days=ahead[0])


def likely_close(standing: Standing) -> date | None:
    if standing.window and isinstance(standing.window.closes, date):
        return standing.window.closes
    return standing.forecast.closes.likely if standing.forecast else None
