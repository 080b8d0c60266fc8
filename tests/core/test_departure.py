"""The lap before a departure: which day counts, and how long the rest takes."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.departure import Look, counts_for, lap_of, leaving_day
from maintenance.core.facts import Completion, Trip

TRIP = Trip(date(2026, 5, 10), date(2026, 5, 27), Decimal(1800), "mi")


@pytest.mark.parametrize(
    ("as_of", "leaving"),
    [
        ("2026-05-04", "2026-05-10"),
        ("2026-05-10", "2026-05-10"),
        ("2026-05-14", "2026-05-14"),
        ("2026-06-01", "2026-05-27"),
    ],
)
def test_next_departure_is_on_the_way_each_day(as_of, leaving):
    found = leaving_day(TRIP, date.fromisoformat(as_of))

    assert found == date.fromisoformat(leaving)


@pytest.mark.parametrize(
    ("on", "that_day", "counts"),
    [
        ("2026-05-10", False, True),
        ("2026-05-09", False, True),
        ("2026-05-08", False, False),
        ("2026-05-09", True, False),  # a night can change it
        ("2026-05-10", True, True),
        ("2026-05-11", False, False),
    ],
)
def test_today_and_yesterday_count(on, that_day, counts):
    done = [Completion(date.fromisoformat(on))]

    found = counts_for(done, TRIP.start, that_day=that_day)

    assert (found is not None) == counts


def test_what_found_a_fault_counts_for_nothing():
    done = [Completion(TRIP.start, outcome="fault_found")]

    assert counts_for(done, TRIP.start) is None


def test_minutes_are_those_of_what_is_left():
    lap = lap_of(
        [
            Look(1, "lights", 2),
            Look(1, "tires", 4, done_on=TRIP.start),
            Look(2, "tires", 4),
        ]
    )

    assert (lap.minutes, lap.left) == (10, 6)


def test_look_that_another_one_covers_is_left_out_on_that_rig_alone():
    lap = lap_of(
        [Look(1, "stop", 5, covers=("hubs",)), Look(1, "hubs", 3), Look(2, "hubs", 3)]
    )

    assert [(one.rig, one.key) for one in lap.looks] == [(1, "stop"), (2, "hubs")]
    assert lap.minutes == 8
