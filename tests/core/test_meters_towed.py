"""Towed distance: what trips credit, and the hub meter that takes over."""

from datetime import date
from decimal import Decimal
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.dates import InUse
from maintenance.core.facts import Meter, Reading, Replacement, Trip
from maintenance.core.meters import track_towed

D = date.fromisoformat
AS_OF = D("2026-05-04")
NO_STAYS = InUse([], AS_OF)


def span(start: str, end: str, low: int, high: int, tow: str = "pickup") -> Trip:
    return Trip(D(start), D(end), tow=tow, odometer=(Decimal(low), Decimal(high)))


def by_hand(start: str, end: str, distance: int) -> Trip:
    return Trip(D(start), D(end), distance=Decimal(distance))


def value(day: str, *trips: Trip, meter: Meter | None = None) -> Decimal | None:
    return track_towed(meter or Meter("mi"), NO_STAYS, trips, AS_OF).value_on(D(day))


def test_nothing_towed_is_zero() -> None:
    track = track_towed(Meter("mi"), NO_STAYS, (), AS_OF)
    assert (track.known, track.value_on(D("2020-01-01"))) == (0, 0)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        ("2026-02-28", 0),
        ("2026-03-01", 75),
        ("2026-03-03", 225),
        ("2026-03-04", 300),
        ("2026-04-01", 300),
    ],
)
def test_a_trip_counts_evenly_over_its_days(day: str, expected: int) -> None:
    assert value(day, by_hand("2026-03-01", "2026-03-04", 300)) == expected


def test_spans_of_one_tow_vehicle_count_their_union() -> None:
    trips = (
        span("2026-03-01", "2026-03-01", 100, 200),
        span("2026-03-02", "2026-03-02", 150, 300),
        span("2026-03-03", "2026-03-03", 120, 180),
    )
    assert [value(f"2026-03-0{n}", *trips) for n in (1, 2, 3)] == [100, 200, 200]


def test_spans_of_two_tow_vehicles_add_up() -> None:
    trips = (
        span("2026-03-01", "2026-03-01", 100, 200),
        span("2026-03-02", "2026-03-02", 100, 200, tow="van"),
    )
    assert value("2026-03-02", *trips) == 200


def test_a_trip_with_a_span_does_not_count_its_planned_distance_too() -> None:
    trip = Trip(
        D("2026-03-01"),
        D("2026-03-01"),
        distance=Decimal(500),
        tow="pickup",
        odometer=(Decimal(100), Decimal(480)),
    )
    assert value("2026-03-01", trip) == 380


def test_trips_at_the_same_time_add_up_day_by_day() -> None:
    trips = (
        by_hand("2026-03-01", "2026-03-04", 400),
        by_hand("2026-03-03", "2026-03-04", 20),
    )
    assert [value(f"2026-03-0{n}", *trips) for n in (2, 3, 4)] == [200, 310, 420]


@pytest.mark.parametrize(
    ("end", "known"), [("2026-05-03", 100), ("2026-05-04", 0), ("2026-05-05", 0)]
)
def test_a_trip_that_goes_on_credits_nothing_by_hand(end: str, known: int) -> None:
    trip = by_hand("2026-05-01", end, 100)
    assert track_towed(Meter("mi"), NO_STAYS, (trip,), AS_OF).known == known


def test_a_trip_that_goes_on_credits_what_was_driven() -> None:
    trip = span("2026-05-01", "2026-05-09", 1000, 1250)
    assert track_towed(Meter("mi"), NO_STAYS, (trip,), AS_OF).known == 250


legs = st.tuples(st.integers(0, 40), st.integers(0, 9), st.integers(0, 900))


@given(st.lists(legs, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_trips_does_not_matter_and_the_union_is_counted(
    rows: list[tuple[int, int, int]], chance: Random
) -> None:
    first = D("2026-01-01").toordinal()
    trips = [
        Trip(
            D("2026-01-01").fromordinal(first + start),
            D("2026-01-01").fromordinal(first + start + days),
            tow="pickup",
            odometer=(Decimal(low), Decimal(low + 60)),
        )
        for start, days, low in rows
    ]
    driven = {mile for _s, _d, low in rows for mile in range(low, low + 60)}
    known = [value("2026-05-04", *trips)]
    chance.shuffle(trips)
    known.append(value("2026-05-04", *trips))
    assert known == [len(driven), len(driven)]


def hub(*pairs: tuple[str, int], replaced: tuple[Replacement, ...] = ()) -> Meter:
    rows = tuple(Reading(D(on), Decimal(shown)) for on, shown in pairs)
    return Meter("mi", rows, replaced)


def test_a_hub_meter_goes_on_where_the_trips_stopped() -> None:
    trips = (
        by_hand("2026-03-01", "2026-03-02", 300),
        by_hand("2026-03-20", "2026-03-21", 200),  # the hub counts this one
    )
    meter = hub(("2026-03-15", 12), ("2026-04-01", 230))
    track = track_towed(meter, NO_STAYS, trips, AS_OF)
    assert track.value_on(D("2026-03-10")) == 300
    assert track.known == 300 + 218
    assert track.scale.shown(Decimal(518)) == 230
    assert track.state().known == 230


def test_a_hub_meter_fitted_on_a_trip_counts_from_that_day() -> None:
    trip = by_hand("2026-03-01", "2026-03-04", 400)
    track = track_towed(hub(("2026-03-02", 0)), NO_STAYS, (trip,), AS_OF)
    assert track.known == 200


def test_a_stated_fitting_tells_how_the_two_join() -> None:
    fitted = Replacement(D("2026-03-15"), Decimal(5000), Decimal(0))
    meter = hub(("2026-03-15", 0), ("2026-04-01", 230), replaced=(fitted,))
    track = track_towed(meter, NO_STAYS, (), AS_OF)
    assert track.known == 5230
    assert track.scale.shown(Decimal(5230)) == 230
