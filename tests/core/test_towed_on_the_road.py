"""Towed distance on the road: credit by the tow vehicle, against unions by hand.

The unions are counted mile by mile here, not by the code's intervals.
"""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.dates import InUse
from maintenance.core.facts import (
    Calendar,
    Event,
    FactError,
    Item,
    Meter,
    NotTowed,
    Reading,
    Replacement,
    Rig,
    Standing,
    TowVehicle,
    Trip,
)
from maintenance.core.meters import track_meter, track_towed
from maintenance.core.meters.towed import TowedTrack
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.after import After

D = date.fromisoformat
AS_OF = D("2026-06-10")
NO_STAYS = InUse([], AS_OF)
RECHECK = After("wheel_off", ((Decimal(50), Decimal(100)),), "towed", "mi")
LONG = Trip(D("2026-06-01"), D("2026-06-28"), Decimal(2800), tow="mule")


def vehicle(*pairs: tuple[str, int], replaced: tuple[Replacement, ...] = ()) -> Meter:
    rows = tuple(Reading(D(on), Decimal(value)) for on, value in pairs)
    return Meter("mi", rows, replaced)


def track(*trips: Trip, said: tuple[NotTowed, ...] = (), **tows: Meter) -> TowedTrack:
    known = {name: track_meter(meter, NO_STAYS) for name, meter in tows.items()}
    found = track_towed(Meter("mi"), NO_STAYS, trips, AS_OF, tows=known, not_towed=said)
    assert isinstance(found, TowedTrack)
    return found


def test_readings_of_the_tow_vehicle_off_the_trip_credit_nothing() -> None:
    trip = replace(LONG, end=D("2026-06-04"), planned=True)
    mule = vehicle(("2026-06-01", 1000), ("2026-06-03", 1200), ("2026-06-09", 1900))
    found = track(trip, mule=mule)
    assert (found.known, found.known_on) == (200, D("2026-06-03"))


def test_a_doubtful_reading_of_the_tow_vehicle_credits_nothing() -> None:
    mule = vehicle(("2026-06-01", 1000), ("2026-06-02", 91000), ("2026-06-05", 1400))
    assert track(LONG, mule=mule).known == 400


def test_without_a_reading_before_it_credit_begins_at_the_first_on_the_trip() -> None:
    mule = vehicle(("2026-06-03", 1000), ("2026-06-05", 1250))
    assert track(LONG, mule=mule).known == 250


def test_the_tow_vehicle_driven_after_not_towed_since_is_not_credited() -> None:
    mule = vehicle(
        ("2026-06-01", 1000),
        ("2026-06-03", 1300),
        ("2026-06-06", 1900),  # alone: the trailer stood since the 3rd
        ("2026-06-08", 2000),
    )
    said = (NotTowed(D("2026-06-06"), D("2026-06-03")),)
    assert track(LONG, said=said, mule=mule).known == 300 + 100


def test_evidence_is_the_latest_of_what_tells() -> None:
    told = Trip(D("2026-05-01"), D("2026-05-03"), Decimal(300))
    assert track(told).known_on == D("2026-05-03")
    mule = vehicle(("2026-06-01", 1000), ("2026-06-04", 1300))
    assert track(told, LONG, mule=mule).known_on == D("2026-06-04")
    entered = replace(LONG, told=((D("2026-06-07"), Decimal(500)),))
    assert track(told, entered, mule=mule).known_on == D("2026-06-07")
    said = (NotTowed(D("2026-06-09"), D("2026-06-07")),)
    found = track(told, entered, said=said, mule=mule)
    assert (found.known_on, found.known) == (D("2026-06-09"), 800)


def test_what_was_read_on_a_trip_still_holds_when_it_is_told() -> None:
    mule = vehicle(("2026-06-01", 1000), ("2026-06-03", 1300))
    told = Trip(
        D("2026-06-01"),
        D("2026-06-05"),
        tow="mule",
        odometer=(Decimal(1000), Decimal(1400)),
    )
    on = [track(told, mule=mule).value_on(D(f"2026-06-0{n}")) for n in (3, 4, 5)]
    assert on == [300, 350, 400]


def test_the_union_of_two_vehicles_and_a_replaced_odometer() -> None:
    """Worked by hand. Mule: 99,900 to 100,000 (100 mi), then 0 to 250 on the new one;
    its second trip 200 to 300 adds 50 of new miles; in all 400. Van: 500 to 620, and
    again 560 to 580, which adds nothing; 120. Together 520 mi."""
    turned = Replacement(D("2026-04-02"), Decimal(100_000), Decimal(0))
    mule = vehicle(replaced=(turned,))
    van = vehicle()
    trips = (
        span("2026-04-01", "2026-04-04", "mule", 99_900, 250),
        span("2026-04-04", "2026-04-05", "mule", 200, 300),
        span("2026-04-03", "2026-04-03", "van", 500, 620),
        span("2026-04-10", "2026-04-10", "van", 560, 580),
    )
    assert track(*trips, mule=mule, van=van).known == 520


def span(start: str, end: str, tow: str, low: int, high: int) -> Trip:
    odometer = (Decimal(low), Decimal(high))
    return Trip(D(start), D(end), tow=tow, odometer=odometer)


legs = st.tuples(
    st.sampled_from(["mule", "van"]),
    st.integers(0, 20),
    st.integers(0, 6),
    st.integers(0, 400),
    st.integers(0, 120),
)


@given(st.lists(legs, max_size=7), st.integers(0, 500))
def test_credit_is_the_miles_of_each_vehicle_counted_once(
    rows: list[tuple[str, int, int, int, int]], turn: int
) -> None:
    """Both odometers start anew at `turn`; a mile has the same true value then."""
    first = D("2026-04-01")
    turned = Replacement(first - timedelta(days=9), Decimal(turn), Decimal(0))
    both = {name: vehicle(replaced=(turned,)) for name in ("mule", "van")}
    trips = [
        Trip(
            first + timedelta(days=start),
            first + timedelta(days=start + length),
            tow=tow,
            odometer=(Decimal(low), Decimal(low + far)),
        )
        for tow, start, length, low, far in rows
    ]
    driven = {
        (tow, mile) for tow, _s, _l, low, far in rows for mile in range(low, low + far)
    }
    assert track(*trips, **both).known == len(driven)


# --- the standing on the road ---------------------------------------------------------


def stand(on: str, rig: Rig) -> Standing:
    return reckon(rig, calendar=Calendar(), as_of=D(on)).items[0]


def trailer(*trips: Trip, **fields: object) -> Rig:
    event = Event("wheel_off", D("2026-05-31"))
    item = Item("lugs", (RECHECK,), safety=True)
    return Rig({"towed": Meter("mi")}, (item,), trips=trips, events=(event,), **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize("day", range(2, 29))
def test_no_day_of_an_unread_trip_makes_overdue_and_each_is_due(day: int) -> None:
    found = stand(f"2026-06-{day:02}", trailer(LONG))
    assert (found.standing, found.expected) == ("due", True)


def test_what_was_expected_does_not_begin_anew_with_each_day() -> None:
    """A planned trip later on: due from its first day on, whatever day it is."""
    before = [
        Trip(D("2025-06-01"), D("2025-06-10"), Decimal(20)),
        Trip(D("2025-08-01"), D("2025-08-10"), Decimal(20)),
    ]
    rig = trailer(*before, LONG)
    early = {
        fact.values["early"]
        for day in range(2, 20)
        for fact in stand(f"2026-06-{day:02}", rig).why
        if fact.key == "expected_by_use"
    }
    assert early == {D("2026-06-01")}


def test_a_reading_of_the_tow_vehicle_ahead_is_refused() -> None:
    ahead = {"mule": TowVehicle(vehicle(("2026-06-02", 1000)))}
    with pytest.raises(FactError, match=r"tow_vehicles\.mule\.readings"):
        stand("2026-06-01", trailer(LONG, tow_vehicles=ahead))


# --- until when a standing holds ------------------------------------------------------

LATEST = D("2026-06-10")


@st.composite
def a_trailer(draw: st.DrawFn) -> Rig:
    """With told, untold and planned trips, a tow vehicle that is read now and then, a
    wheel off, and perhaps somebody's word that it stood."""

    def ago(most: int, least: int = 0) -> date:
        return LATEST - timedelta(days=draw(st.integers(least, most)))

    trips = []
    for _ in range(draw(st.integers(0, 3))):
        start = ago(400, -30)
        end = start + timedelta(days=draw(st.integers(0, 30)))
        distance = draw(st.none() | st.integers(1, 3000).map(Decimal))
        trips.append(
            Trip(start, end, distance, tow="mule", planned=draw(st.booleans()))
        )
    read = sorted({ago(400) for _ in range(draw(st.integers(0, 6)))})
    rows = tuple(
        Reading(on, Decimal(1000 + 25 * (on - LATEST).days + 10_000)) for on in read
    )
    said = draw(st.none() | st.integers(0, 200))
    stood = () if said is None else (NotTowed(ago(said), LATEST - timedelta(said)),)
    checks = ((Decimal(50), Decimal(100)), (Decimal(400), Decimal(600)))
    items = (
        Item("lugs", (replace(RECHECK, checks=checks),), safety=True),
        Item("not safety", (RECHECK,)),
    )
    return Rig(
        {"towed": Meter("mi")},
        items,
        trips=tuple(trips),
        events=(Event("wheel_off", ago(120)),),
        tow_vehicles={"mule": TowVehicle(Meter("mi", rows))},
        not_towed=stood,
    )


def says(one: Standing) -> object:
    """What a standing says, but for what a forecast ahead may move."""
    windows = {(p.kind, p.window, p.places) for p in one.pending}
    return one.standing, one.expected, windows


@settings(max_examples=150, deadline=None)
@given(a_trailer(), st.data())
def test_a_standing_of_a_trailer_holds_until_its_day(
    rig: Rig, data: st.DataObject
) -> None:
    today = reckon(rig, calendar=Calendar(), as_of=LATEST).items
    for n, one in enumerate(today):
        last = min((one.changes_on - LATEST).days - 1, 400)
        if last < 1:
            continue
        for ahead in {last, data.draw(st.integers(1, last))}:
            on = LATEST + timedelta(days=ahead)
            later = reckon(rig, calendar=Calendar(), as_of=on).items[n]
            assert says(later) == says(one), on
            if later.expected:
                assert later.why == one.why


@settings(max_examples=100, deadline=None)
@given(a_trailer())
def test_nothing_is_overdue_that_no_figure_tells(rig: Rig) -> None:
    bare = replace(rig, tow_vehicles={})
    trips = tuple(replace(one, planned=True) for one in bare.trips)
    for one in reckon(
        replace(bare, trips=trips), calendar=Calendar(), as_of=LATEST
    ).items:
        assert one.standing != "overdue"
        assert one.expected <= (one.standing == "due")
