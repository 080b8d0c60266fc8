"""The reckoning against figures from outside, and what it refuses."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.cases import parse_case
from maintenance.core.facts import (
    Baseline,
    Calendar,
    Completion,
    Event,
    FactError,
    Item,
    Meter,
    MeterPoint,
    Reading,
    Replacement,
    Rig,
    Span,
    Standing,
    Stay,
)
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.life import Life

D = date.fromisoformat


def n(value: float | str) -> Decimal:
    return Decimal(str(value))


def stand(
    item: Item, as_of: str, *readings: tuple[str, float], meter: str = "odometer"
) -> Standing:
    unit = "mi" if meter in ("odometer", "towed") else "h"
    rows = tuple(Reading(D(on), n(value)) for on, value in readings)
    rig = Rig({meter: Meter(unit, rows)}, (item,))
    return reckon(rig, calendar=Calendar(), as_of=D(as_of)).items[0]


def closes(standing: Standing) -> object:
    assert standing.window is not None
    point = standing.window.closes
    return point.value if isinstance(point, MeterPoint) else point


# --- hours: overruns charged or forgiven ----------------------------------------------


def hundred_hours(done_at: float, *, anchored: bool) -> Item:
    return Item(
        "inspection",
        (EveryMeter("engine", "h", n(100)),),
        done=(Completion(D("2026-03-01"), values={"engine": n(done_at)}),),
        baseline=Baseline(D("2026-01-01"), {"engine": n(1000)}),
        anchored=anchored,
    )


@pytest.mark.parametrize(
    ("done_at", "anchored", "next_due"),
    [
        # 14 CFR 91.409(b): an overrun of up to 10 h counts against the next interval.
        (1107, True, 1200),
        # Same rule: the test is the preceding 100 h, so early work restarts the count.
        # It does so only without `anchored`: the two halves of that rule are two
        # settings here.
        (1095, False, 1195),
        # A rule of our own, for papers: done inside its window, it keeps its date.
        (1095, True, 1200),
        # EASA AMC1 ML.A.302(d): the next interval runs from when the work was done.
        (1107, False, 1207),
    ],
)
def test_hundred_hours(done_at: float, anchored: bool, next_due: int) -> None:
    item = hundred_hours(done_at, anchored=anchored)
    standing = stand(item, "2026-04-01", ("2026-04-01", 1110), meter="engine")
    assert closes(standing) == next_due


# --- calendar -------------------------------------------------------------------------


def test_twelve_months_from_a_day() -> None:
    """Plain anniversary, computed: inspected 2006-06-06, due 2007-06-06."""
    item = Item(
        "check", (EveryTime(Span(months=12)),), done=(Completion(D("2006-06-06")),)
    )
    assert closes(stand(item, "2006-07-01")) == D("2007-06-06")


@pytest.mark.parametrize(
    ("tested", "years", "good_to"),
    [
        # The years are those of 49 CFR 180.209 (12 by volumetric expansion, then 5 by
        # look); that a month is good to its end is common practice.
        ("2015-04", 12, "2027-04-30"),
        ("2021-02", 5, "2026-02-28"),
        # Common practice for annual inspections in the US, as trade pages tell it:
        # inspected 2006-06-06, good through 2007-06-30.
        ("2006-06", 1, "2007-06-30"),
    ],
)
def test_good_to_the_end_of_the_month(tested: str, years: int, good_to: str) -> None:
    item = Item(
        "cylinder",
        (Life(Span(months=12 * years), D(f"{tested}-01"), month_only=True),),
    )
    end = D(good_to)
    assert closes(stand(item, good_to)) == end
    assert stand(item, good_to).standing == "due"
    after = date.fromordinal(end.toordinal() + 1).isoformat()
    assert stand(item, after).standing == "overdue"


# --- whichever comes first ------------------------------------------------------------

BEARINGS = Item(
    "bearings",
    (EveryMeter("odometer", "mi", n(12000)), EveryTime(Span(months=12))),
    done=(Completion(D("2024-05-01"), values={"odometer": n(40000)}),),
)


@pytest.mark.parametrize(
    ("as_of", "reading", "governing", "standing"),
    [
        # Common practice: bearings every 12 months or 12,000 miles. Computed.
        ("2025-02-01", 52100, "every_distance", "overdue"),
        ("2025-02-01", 52000, "every_distance", "due"),
        ("2025-05-02", 45000, "every_time", "overdue"),
        ("2025-05-01", 45000, "every_time", "due"),
    ],
)
def test_whichever_first(
    as_of: str, reading: int, governing: str, standing: str
) -> None:
    found = stand(BEARINGS, as_of, ("2024-05-01", 40000), (as_of, reading))
    assert (found.governing, found.standing) == (governing, standing)


# --- one-off checks after an event ----------------------------------------------------


def recheck(
    checks: tuple[tuple[int, int], ...],
    at: int,
    reading: float,
    *done: float,
    meter: str = "odometer",
) -> Standing:
    pairs = tuple((n(low), n(high)) for low, high in checks)
    completions = tuple(
        Completion(D("2026-05-02"), values={meter: n(value)}, outcome="held")
        for value in done
    )
    item = Item("lugs", (After("wheel_off", pairs, meter, "mi"),), done=completions)
    rig = Rig(
        {meter: Meter("mi", (Reading(D("2026-05-03"), n(reading)),))},
        (item,),
        events=(Event("wheel_off", D("2026-05-01"), {meter: n(at)}),),
    )
    return reckon(rig, calendar=Calendar(), as_of=D("2026-05-03")).items[0]


@pytest.mark.parametrize(
    ("reading", "standing"),
    [(10049, "later"), (10050, "due"), (10100, "due"), (10101, "overdue")],
)
def test_lug_recheck_between_50_and_100_miles(reading: int, standing: str) -> None:
    """Common practice: after a wheel was off, within about 100 miles. Wheel fitted at
    10,000: the window opens at 10,050, 10,100 is the last mile inside."""
    assert recheck(((50, 100),), 10000, reading).standing == standing


def test_trailer_wheels_at_10_25_and_50_miles() -> None:
    """Common practice for trailers: at 30 miles with only the first check done, the
    25-mile one is overdue by 5 and the 50-mile one is open."""
    checks = ((10, 10), (25, 25), (50, 50))
    found = recheck(checks, 0, 30, 10)
    assert found.standing == "overdue"
    assert [closes_of(one.window.closes) for one in found.pending] == [25, 50]
    over = next(fact for fact in found.why if fact.key == "over_by_value")
    assert over.values["value"] == 5


def closes_of(point: object) -> Decimal:
    assert isinstance(point, MeterPoint)
    return point.value


# --- common practice around storage ---------------------------------------------------


def test_traps_are_flushed_about_monthly_while_parked() -> None:
    """Common practice."""
    data = {
        "as_of": "2026-01-10",
        "rig": {
            "meters": {},
            "stays": [{"from": "2025-12-01"}],
            "items": [{"key": "traps", "triggers": [{"while_stored": {"days": 30}}]}],
        },
    }
    rig, calendar, as_of = parse_case(data, "")
    found = reckon(rig, calendar=calendar, as_of=as_of).items[0]
    assert closes(found) == D("2025-12-31")


def battery_off(planned_to: str) -> Standing:
    data = {
        "as_of": "2026-10-30",
        "rig": {
            "meters": {},
            "stays": [{"from": "2026-11-01", "planned_to": planned_to}],
            "items": [
                {
                    "key": "battery",
                    "triggers": [{"storage_entry": {"by_day": 14, "lead": 0}}],
                }
            ],
        },
    }
    rig, calendar, as_of = parse_case(data, "")
    return reckon(rig, calendar=calendar, as_of=as_of).items[0]


@pytest.mark.parametrize(
    ("planned_to", "standing"), [("2026-11-14", "waiting"), ("2027-03-01", "soon")]
)
def test_chassis_battery_is_disconnected_when_stored_longer_than_two_weeks(
    planned_to: str, standing: str
) -> None:
    """Common practice."""
    assert battery_off(planned_to).standing == standing


# --- what is refused ------------------------------------------------------------------

AS_OF = D("2026-05-04")
AHEAD = D("2026-05-05")
OIL = Item("oil", ())
RIG = Rig({"odometer": Meter("mi")}, (OIL,))


def with_item(**changes: object) -> Rig:
    return replace(RIG, items=(OIL, replace(OIL, **changes)))


@pytest.mark.parametrize(
    ("rig", "place"),
    [
        (
            replace(RIG, meters={"odometer": Meter("mi", (Reading(AHEAD, n(1)),))}),
            "rig.meters.odometer.readings[0]",
        ),
        (
            replace(
                RIG,
                meters={"odometer": Meter("mi", (), (Replacement(AHEAD, n(1), n(0)),))},
            ),
            "rig.meters.odometer.replaced[0]",
        ),
        (replace(RIG, in_service=Baseline(AHEAD)), "rig.in_service.on"),
        (replace(RIG, stays=(Stay(AS_OF, AHEAD),)), "rig.stays[0]"),
        (replace(RIG, events=(Event("hail", AHEAD),)), "rig.events[0]"),
        (with_item(done=(Completion(AHEAD),)), "rig.items[1].done[0]"),
        (with_item(done=(Completion(AS_OF, AHEAD),)), "rig.items[1].done[0]"),
        (with_item(baseline=Baseline(AHEAD)), "rig.items[1].baseline.on"),
        (with_item(triggers=(Life(Span(1), AHEAD),)), "rig.items[1].triggers[0]"),
    ],
)
def test_days_after_the_as_of_date_are_refused(rig: Rig, place: str) -> None:
    with pytest.raises(FactError) as refusal:
        reckon(rig, calendar=Calendar(), as_of=AS_OF)
    assert str(refusal.value) == f"{place}: 2026-05-05 is after 2026-05-04"


@pytest.mark.parametrize(
    ("rig", "problem"),
    [
        (
            with_item(triggers=(EveryMeter("engine", "h", n(9)),)),
            'rig.items[1].triggers[0]: the rig has no "engine"; it has odometer',
        ),
        (
            with_item(triggers=(EveryMeter("odometer", "h", n(9)),)),
            'rig.items[1].triggers[0]: "odometer" counts in mi',
        ),
        (
            with_item(done=(Completion(AS_OF, values={"hub": n(1)}),)),
            'rig.items[1].done[0]: the rig has no "hub"',
        ),
        (
            replace(RIG, events=(Event("hail", AS_OF, {"hub": n(1)}),)),
            'rig.events[0]: the rig has no "hub"',
        ),
        (
            replace(RIG, in_service=Baseline(AS_OF, {"hub": n(1)})),
            'rig.in_service: the rig has no "hub"',
        ),
        (
            with_item(baseline=Baseline(AS_OF, {"hub": n(1)})),
            'rig.items[1].baseline: the rig has no "hub"',
        ),
    ],
)
def test_a_meter_that_the_rig_does_not_have_is_refused(rig: Rig, problem: str) -> None:
    with pytest.raises(FactError) as refusal:
        reckon(rig, calendar=Calendar(), as_of=AS_OF)
    assert str(refusal.value) == problem


def test_a_rig_without_items_has_its_meters() -> None:
    found = reckon(Rig({"odometer": Meter("mi")}, ()), calendar=Calendar(), as_of=AS_OF)
    assert found.items == ()
    assert found.meters["odometer"].known is None
