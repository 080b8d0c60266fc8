"""The lap before a departure: short, in an order that holds, and whole."""

import pytest

from maintenance.library.model import EVERY_KIND
from maintenance.library.proposals import propose
from maintenance.library.reading import load_library

LIBRARY = load_library()
LAP = [look for stop in LIBRARY.lap if stop.when == "lap" for look in stop.looks]
# For a rig with what is usual for its kind. Common practice: a lap is walked in less
# than half an hour, or it is not walked.
MOST_MINUTES = 30


@pytest.mark.parametrize("kind", EVERY_KIND)
@pytest.mark.parametrize("year", [1995, 2012, 2024])
def test_lap_of_a_usual_rig_is_one_of_minutes(kind: str, year: int) -> None:
    equipment = [key for key, x in LIBRARY.equipment.items() if x.is_usual(kind, year)]
    found = propose(
        LIBRARY, kind=kind, equipment=equipment, meters=("odometer", "towed")
    )
    keys = {one.procedure.key for one in found}

    minutes = [look.minutes for look in LAP if look.procedure in keys]

    assert sum(minutes) <= MOST_MINUTES
    assert minutes


def test_a_look_is_never_longer_than_its_work() -> None:
    for look in LAP:
        assert look.minutes <= LIBRARY.procedures[look.procedure].minutes, look


def test_lap_keeps_what_is_needed_first() -> None:
    order = [look.procedure for look in LAP]
    needs = {key: LIBRARY.procedures[key].needs_first for key in order}

    broken = [
        (key, first)
        for n, key in enumerate(order)
        for first in needs[key]
        if first in order[n:]
    ]

    assert broken == []


def test_lap_ends_with_the_last_walk_and_what_needs_the_road() -> None:
    assert [look.procedure for look in LAP][-3:] == [
        "walk_lights",
        "walk_departure",
        "trailer_brake_roll",
    ]


def test_only_what_a_night_can_change_is_of_the_very_day() -> None:
    of_the_day = [look.procedure for look in LAP if look.that_day]
    assert of_the_day == ["walk_departure", "trailer_brake_roll"]
