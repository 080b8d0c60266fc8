"""The order on Due, and that of a run of work in which some jobs need others first."""

from datetime import date
from itertools import permutations
from random import Random

from maintenance.core.facts import (
    Dates,
    Item,
    MeterPoint,
    Standing,
    StandingName,
    Window,
    WindowDates,
)
from maintenance.core.order import NOT_ON_DUE, due_order, due_rank, needs_order

D = date.fromisoformat
Entry = tuple[Item, Standing]


def entry(
    key: str,
    standing: StandingName,
    *,
    closes: str = "",
    unfit_by: str = "",
    **more: bool,
) -> Entry:
    window = Window(D(closes), D(closes)) if closes else None
    return Item(key, (), **more), Standing(
        key, standing, window=window, unfit_by=unfit_by
    )


def by_likely_day(key: str, likely: str | None) -> Entry:
    day = D(likely) if likely else None
    point = MeterPoint("odometer", 1)
    dates = WindowDates(Dates(day, day, day), Dates(day, day, day))
    return Item(key, ()), Standing(
        key, "due", window=Window(point, point), forecast=dates
    )


def keys(entries: list[Entry]) -> list[str]:
    return [item.key for item, _standing in due_order(entries)]


ONE_OF_EACH = [
    entry("unfit", "overdue", unfit_by="overdue"),
    entry("overdue safety", "overdue", safety=True),
    entry("overdue", "overdue"),
    entry("due safety", "due", safety=True),
    entry("safety without a record", "unknown", safety=True),
    entry("due", "due"),
    entry("without a record", "unknown"),
    entry("soon", "soon"),
]


def test_groups_come_in_the_order_of_the_design() -> None:
    names = [item.key for item, _standing in ONE_OF_EACH]
    assert keys(ONE_OF_EACH[::-1]) == names
    for some in permutations(ONE_OF_EACH, 3):
        assert keys(list(some)) == sorted(keys(list(some)), key=names.index)


def test_what_an_event_made_unfit_comes_first_though_it_is_not_overdue() -> None:
    assert due_rank(*entry("hit", "due", unfit_by="event")) == 0
    assert due_rank(*entry("due", "due", unfit=True)) > 0


def test_what_is_later_waiting_or_settled_is_not_on_due() -> None:
    for name in ("later", "waiting", "settled"):
        assert due_rank(*entry("one", name, safety=True)) == NOT_ON_DUE
        assert keys([entry("one", name)]) == []


def test_inside_a_group_the_likely_day_of_closes_decides() -> None:
    entries = [
        by_likely_day("no day", None),
        by_likely_day("distance", "2026-05-10"),
        entry("later date", "due", closes="2026-05-20"),
        entry("date", "due", closes="2026-05-09"),
    ]
    assert keys(entries) == ["date", "distance", "later date", "no day"]


def test_equal_ones_stay_in_the_order_given() -> None:
    entries = [entry(key, "due", closes="2026-05-20") for key in "cab"]
    assert keys(entries) == ["c", "a", "b"]


# --- a run of work --------------------------------------------------------------------


def test_order_that_breaks_no_need_stays_as_it_is():
    needs = {"d": ("a",), "c": ("b", "a")}

    assert needs_order("abcd", needs) == list("abcd")


def test_what_is_needed_is_drawn_ahead_in_the_order_in_which_it_is_named():
    assert needs_order("abcd", {"a": ("d", "c")}) == list("dcab")


def test_need_holds_through_what_is_left_out():
    needs = {"light": ("leak test",), "leak test": ("alarms",), "alarms": ("power",)}

    assert needs_order(["light", "power"], needs) == ["power", "light"]


def test_key_given_twice_comes_once():
    assert needs_order("aba", {}) == ["a", "b"]


def test_each_of_many_random_runs_keeps_every_need():
    dice = Random(7)  # noqa: S311  (the same runs each time)
    for _ in range(300):
        names = [f"j{n}" for n in range(12)]
        needs = {
            name: dice.sample(names[:n], dice.randint(0, min(n, 3)))
            for n, name in enumerate(names)
        }
        given = dice.sample(names, dice.randint(0, len(names)))

        order = needs_order(given, needs)

        assert sorted(order) == sorted(given)
        for key in order:
            before = set(order[: order.index(key)])
            assert all_needs(key, needs) & set(given) <= before


def all_needs(key: str, needs: dict[str, list[str]]) -> set[str]:
    found = set(needs[key])
    for first in needs[key]:
        found |= all_needs(first, needs)
    return found
