"""The rules of counting, held against what others publish.

- 14 CFR 91.409(b): the 100 hours may be exceeded by not more than 10 while en route to
  where the inspection can be done, and "the excess time used" must be included in
  computing the next 100 hours of time in service.
- US practice for annual inspections (published example): done on 6 June 2006, good
  through 30 June 2007. A date printed as a month is good to the end of the month.
- 14 CFR 135.301(a), 135.323(b): done in the month before or after counts as done in the
  due month. Here the window is of 30 days, and what is late keeps the anchor.
- Months and years against `dateutil.relativedelta`, which clamps the day to the month.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import assume, given
from hypothesis import strategies as st

from maintenance.core.dates import add_months, add_span
from maintenance.core.facts import (
    Baseline,
    Calendar,
    Completion,
    Item,
    Meter,
    MeterPoint,
    Reading,
    Replacement,
    Rig,
    Span,
    TowVehicle,
    Trigger,
    Trip,
)
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.life import Life

AS_OF = date(2026, 5, 4)
NEW = date(2020, 1, 1)
HUNDRED = EveryMeter("engine", "h", Decimal(100))
days = st.dates(date(1990, 1, 1), date(2026, 5, 4))


def closes(*triggers: Trigger, done: tuple[Completion, ...] = (), **fields: object):
    item = Item("one", triggers, done, **fields)  # type: ignore[arg-type]
    rig = Rig({"engine": Meter("h")}, (item,))
    found = reckon(rig, calendar=Calendar(), as_of=AS_OF).items[0]
    return None if found.window is None else found.window.closes


def inspected(*hours: Decimal) -> tuple[Completion, ...]:
    return tuple(
        Completion(NEW + timedelta(days=30 * n), values={"engine": value})
        for n, value in enumerate(hours, 1)
    )


def next_inspection(*hours: Decimal, anchored: bool = True) -> Decimal:
    """When the one after these inspections has to be done, in hours."""
    last = Reading(AS_OF, hours[-1])
    base = Baseline(NEW, {"engine": Decimal(0)})
    item = Item("one", (HUNDRED,), inspected(*hours), base, anchored=anchored)
    rig = Rig({"engine": Meter("h", (last,))}, (item,))
    found = reckon(rig, calendar=Calendar(), as_of=AS_OF).items[0]
    assert found.window is not None
    assert isinstance(found.window.closes, MeterPoint)
    return found.window.closes.value


@pytest.mark.parametrize("excess", range(11))
def test_the_excess_of_a_hundred_hours_is_charged_to_the_next(excess: int) -> None:
    """Inspected at 100 + excess, the next is due at 200: 100 less the excess later."""
    done_at = Decimal(100 + excess)
    assert next_inspection(done_at) - done_at == 100 - excess


@given(st.lists(st.integers(0, 100), min_size=1, max_size=12))
def test_overruns_one_after_the_other_never_add_up(tenths: list[int]) -> None:
    """Every one within its 10 hours: the n-th limit stays n hundred hours."""
    hours = [
        Decimal(100 * n) + Decimal(excess) / 10 for n, excess in enumerate(tenths, 1)
    ]
    assert next_inspection(*hours) == 100 * (len(hours) + 1)


def test_without_an_anchor_the_excess_is_forgiven() -> None:
    assert next_inspection(Decimal(108), anchored=False) == 208


@given(days, st.integers(-400, 400))
def test_months_are_added_as_dateutil_adds_them(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


@given(days, st.integers(0, 40), st.integers(0, 400))
def test_a_span_is_months_first_then_days_as_there(
    day: date, months: int, more: int
) -> None:
    expected = day + relativedelta(months=months, days=more)
    assert add_span(day, Span(more, months)) == expected


@given(days, st.integers(1, 240))
def test_a_cycle_closes_where_dateutil_puts_it(day: date, months: int) -> None:
    rule = EveryTime(Span(months=months))
    found = closes(rule, done=(Completion(day),))
    assert found == day + relativedelta(months=months)


@given(days, st.integers(1, 36), days)
def test_an_anchored_cycle_is_counted_from_the_anchor_itself(
    anchor: date, months: int, done: date
) -> None:
    """The first whole number of intervals from it that lies after the work."""
    lead = min(max((add_months(anchor, months) - anchor).days // 10, 1), 30)
    assume(done >= add_months(anchor, months) - timedelta(days=lead))
    rule = EveryTime(Span(months=months))
    found = closes(
        rule, done=(Completion(done),), baseline=Baseline(anchor), anchored=True
    )
    step = 2
    while anchor + relativedelta(months=months * step) <= done:
        step += 1
    assert found == anchor + relativedelta(months=months * step)


@given(days, st.integers(1, 20))
def test_a_life_of_years_ends_where_dateutil_puts_it(day: date, years: int) -> None:
    found = closes(Life(Span(months=12 * years), day))
    assert found == day + relativedelta(years=years)


def test_what_is_dated_by_its_month_is_good_to_the_end_of_that_month() -> None:
    rule = Life(Span(months=12), date(2006, 6, 1), month_only=True)
    assert closes(rule) == date(2007, 6, 30)


@pytest.mark.parametrize(
    ("done", "due"),
    [
        ("2025-02-20", "2026-03-20"),  # in the 30 days before
        ("2025-03-20", "2026-03-20"),
        ("2025-04-15", "2026-03-20"),
        ("2025-01-20", "2026-01-20"),  # outside the window: the base moves
        ("2025-02-10", "2026-02-10"),  # a month before by the calendar, not by 30 days
    ],
)
def test_anchored_year_keeps_its_month_from_30_days_before_on(
    done: str, due: str
) -> None:
    found = closes(
        EveryTime(Span(months=12)),
        done=(Completion(date.fromisoformat(done)),),
        baseline=Baseline(date(2024, 3, 20)),
        anchored=True,
    )
    assert found == date.fromisoformat(due)


# --- trip credit, worked by hand ------------------------------------------------------


def test_union_of_spans_of_two_tow_vehicles_one_with_a_replaced_odometer() -> None:
    """The mule's odometer was replaced at 99,980 on 5 March; the new one began at 0, so
    that its 40 is 100,020 true and its 20 is 100,000.

    99,900 to 100,020 and 100,000 to 100,080 are 180 together, not 200. The ox adds 60.
    Of 100 more behind the mule 30 were driven unhitched: 70. In all 310.
    """
    mule = Meter(
        "mi",
        (
            Reading(date(2026, 3, 1), Decimal(99_900)),
            Reading(date(2026, 3, 20), Decimal(300)),
        ),
        (Replacement(date(2026, 3, 5), Decimal(99_980), Decimal(0)),),
    )
    ox = Meter("mi", (Reading(date(2026, 3, 1), Decimal(500)),))
    trips = (
        towed_by("mule", (2, 6), (99_900, 40)),
        towed_by("mule", (6, 8), (20, 100)),
        towed_by("ox", (7, 9), (500, 560)),
        towed_by("mule", (10, 12), (100, 200), off=30),
    )
    for order in (trips, trips[::-1]):
        rig = Rig(
            {"towed": Meter("mi")},
            (),
            trips=order,
            tow_vehicles={"mule": TowVehicle(mule), "ox": TowVehicle(ox)},
        )
        found = reckon(rig, calendar=Calendar(), as_of=AS_OF).meters["towed"]
        assert found.known == 310


def towed_by(
    tow: str, march: tuple[int, int], odometer: tuple[int, int], off: int = 0
) -> Trip:
    start, end = (date(2026, 3, day) for day in march)
    low, high = map(Decimal, odometer)
    return Trip(start, end, tow=tow, odometer=(low, high), off=Decimal(off))
