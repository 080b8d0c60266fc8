"""What to raise now, and whether what was raised still holds."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta

from maintenance.core.notices.cycles import (
    event_windows,
    governing_window,
    likely_close,
    next_repeat,
    repeat_number,
    same_work,
)
from maintenance.core.notices.not_towed import counts_towed
from maintenance.core.notices.values import ItemNow, Key, Notice, Person, Stage, Told

SHOP_WAIT_DAYS = 21
# In a cycle, a stage says nothing new once one of these was told.
_SAYS_MORE: Mapping[Stage, tuple[Stage, ...]] = {
    "heads_up": ("book", "due", "overdue"),
    "book": ("overdue",),
    "due": ("overdue",),
    "overdue": (),
    "safety": (),
}
_RANK: Mapping[Stage, int] = {
    "overdue": 0,
    "due": 1,
    "safety": 2,
    "book": 3,
    "heads_up": 4,
    "withdrawn": 5,
}


def notices_now(
    items: Iterable[ItemNow],
    people: Iterable[Person],
    told: Iterable[Told],
    *,
    as_of: date,
    shop_wait_days: int = SHOP_WAIT_DAYS,
) -> tuple[Notice, ...]:
    """The notices to raise on `as_of`, by person, then item, in the order given.

    The answer depends on nothing else: asked again with these told, it is empty.
    """
    before = _by_item_and_person(told)
    items = tuple(items)
    return tuple(
        notice
        for person in people
        for item in items
        for notice in _notices(
            item,
            person,
            before.get((item.item, person.person), []),
            as_of=as_of,
            shop_wait_days=shop_wait_days,
        )
        if _chosen(item, notice.key.stage, person)
    )


def _by_item_and_person(told: Iterable[Told]) -> dict[tuple[int, int], list[Told]]:
    found: dict[tuple[int, int], list[Told]] = {}
    for row in told:
        found.setdefault((row.key.item, row.key.person), []).append(row)
    return found


def still_true(
    key: Key,
    item: ItemNow,
    person: Person,
    *,
    as_of: date,
    shop_wait_days: int = SHOP_WAIT_DAYS,
) -> bool:
    """Whether a notice raised earlier still says what is so.

    False once the work was done, put off, or came to another stage, which has its own
    notice, and when the person no longer wants it. A repeat holds as long as its stage.
    Word of a withdrawal holds until the work is asked for again.
    """
    if key.stage == "withdrawn":
        return not asked_for(item)
    if not _chosen(item, key.stage, person):
        return False
    if key.stage == "safety":
        return key.window in event_windows(item)
    held = _held_until(item, person)
    if held is not None and as_of < held and not _warns(item, key.stage, person):
        return False
    stages = stages_now(item, as_of=as_of, shop_wait_days=shop_wait_days)
    return key.stage in stages and key.window in same_work(item.standing)


def asked_for(item: ItemNow) -> bool:
    """Whether the work is to be done now, or an event's follow-up is open."""
    return bool(event_windows(item)) or item.standing.standing in {"due", "overdue"}


def one_per_item(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """Of each item and person the notice that says most, the most urgent first."""
    best: dict[tuple[int, int], Notice] = {}
    for notice in sorted(notices, key=lambda notice: _RANK[notice.key.stage]):
        best.setdefault((notice.key.person, notice.key.item), notice)
    return tuple(best.values())


def stages_now(
    item: ItemNow, *, as_of: date, shop_wait_days: int = SHOP_WAIT_DAYS
) -> tuple[Stage, ...]:
    """The stages that a plan item is in, whatever was told; `safety` left aside."""
    name = item.standing.standing
    if name == "overdue":
        return ("overdue",)
    closes = likely_close(item.standing)
    book = (
        item.shop and closes is not None and _last_call(closes, shop_wait_days) <= as_of
    )
    if name == "due":
        return ("due", "book") if book else ("due",)
    if book and name in {"soon", "later"}:
        return ("book",)
    return ("heads_up",) if name == "soon" else ()


def _last_call(closes: date, shop_wait_days: int) -> date:
    """From when on a shop is to be booked."""
    return closes - timedelta(days=shop_wait_days + 7)


def next_day(
    items: Iterable[ItemNow],
    people: Iterable[Person],
    told: Iterable[Told],
    *,
    as_of: date,
    shop_wait_days: int = SHOP_WAIT_DAYS,
) -> date:
    """The first day after `as_of` on which there may be something to raise although
    every standing stays as it is; `date.max`: never. `told`: all of it, today's too."""
    before = _by_item_and_person(told)
    items = tuple(items)
    days = [
        day
        for person in people
        for item in items
        for day in _days_ahead(
            item,
            person,
            before.get((item.item, person.person), []),
            as_of,
            shop_wait_days,
        )
    ]
    return min((day for day in days if day > as_of), default=date.max)


def _days_ahead(
    item: ItemNow, person: Person, told: list[Told], as_of: date, shop_wait_days: int
) -> Iterator[date]:
    held = _held_until(item, person)
    if held is not None and held > as_of:
        yield held
    standing = item.standing
    silent = _silent_until(item, as_of)
    if silent is not None:
        yield silent
        return
    work = same_work(standing)
    same = [row for row in told if row.key.window in work]
    for stage in stages_now(item, as_of=as_of, shop_wait_days=shop_wait_days):
        again = next_repeat(stage, standing, same, as_of)
        if again is not None:
            yield again
    closes = likely_close(standing)
    if item.shop and closes is not None:
        call = _last_call(closes, shop_wait_days)
        if standing.window and isinstance(standing.window.closes, date):
            yield call
        elif call > as_of:  # what is only likely moves: look again half way
            yield as_of + timedelta(days=max((call - as_of).days // 2, 1))


def _notices(
    item: ItemNow,
    person: Person,
    told: list[Told],
    *,
    as_of: date,
    shop_wait_days: int,
) -> Iterator[Notice]:
    for window in event_windows(item):
        key = Key(item.item, window, "safety", person.person)
        if not any(row.key == key for row in told):
            yield Notice(key, item.rig, at_once=True)
    held = _held_until(item, person)
    standing = item.standing
    if standing.window is None or _silent_until(item, as_of):
        return
    stages = stages_now(item, as_of=as_of, shop_wait_days=shop_wait_days)
    work = same_work(standing)
    same = [row for row in told if row.key.window in work]
    if held is not None and as_of < held:
        # Putting off does not silence that the rig has become unfit.
        stages = tuple(
            stage
            for stage in stages
            if _warns(item, stage, person) and _first(stage, same)
        )
        held = None
    for stage in stages:
        number = repeat_number(stage, standing, same, as_of)
        if not _says_nothing_new(stage, number, same):
            yield _notice(item, person, stage, f"#{number}" if number else "", same)
    if stages and held is not None and _comes_back(same, held):
        yield _notice(item, person, stages[0], f"@{held}", same)


def _silent_until(item: ItemNow, as_of: date) -> date | None:
    """Somebody said just now that the rig was not towed: what is due by expectation
    stays due, and is not told anew."""
    until = item.silent_until
    standing = item.standing
    if until is None or as_of >= until:
        return None
    return until if standing.expected and counts_towed(standing.window) else None


def _notice(
    item: ItemNow, person: Person, stage: Stage, tail: str, same: list[Told]
) -> Notice:
    cycle = governing_window(item.standing) + tail
    as_safety = _is_safety(item, stage) and "safety" in person.stages
    return Notice(
        Key(item.item, cycle, stage, person.person),
        item.rig,
        at_once=_first(stage, same) and (as_safety or _warns(item, stage, person)),
    )


def _first(stage: Stage, same: list[Told]) -> bool:
    return not any(row.key.stage == stage for row in same)


def _warns(item: ItemNow, stage: Stage, person: Person) -> bool:
    """It makes the rig unfit, and this person may be about to drive it."""
    by_itself = item.unfit_by in {"event", "age"} and stage == "safety"
    overdue = bool(item.unfit_by) and stage == "overdue"
    return (by_itself or overdue) and person.drives


def _is_safety(item: ItemNow, stage: Stage) -> bool:
    return item.safety and stage in {"due", "overdue"}


def _chosen(item: ItemNow, stage: Stage, person: Person) -> bool:
    if _warns(item, stage, person):
        return True
    if person.rigs is not None and item.rig not in person.rigs:
        return False
    as_safety = _is_safety(item, stage) and "safety" in person.stages
    return as_safety or stage in person.stages


def _says_nothing_new(stage: Stage, number: int, same: list[Told]) -> bool:
    # At least this number: a clock that jumped back must not tell an older repeat.
    return any(
        row.key.stage in _SAYS_MORE[stage]
        or (row.key.stage == stage and row.key.number >= number)
        for row in same
    )


def _comes_back(same: list[Told], held: date) -> bool:
    """Whether what was told before it was put off is to be told again, once."""
    back = any(row.key.put_off_to == str(held) for row in same)
    return not back and any(row.on < held for row in same)


def _held_until(item: ItemNow, person: Person) -> date | None:
    holds = (item.held_until, person.held.get(item.item))
    return max((day for day in holds if day is not None), default=None)
