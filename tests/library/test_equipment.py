"""What a rig can have: nothing without its jobs, and what came since 2015 is there."""

import pytest

from maintenance.library.model import SOURCE_KINDS, Procedure
from maintenance.library.reading import load_library

LIBRARY = load_library()
# Built into rigs since about 2015, or towed and carried with them.
SINCE_2015 = {
    "diesel_exhaust_fluid",
    "soot_filter",
    "fuel_water_separator",
    "inverter",
    "house_battery_lithium",
    "solar",
    "water_heater_tankless",
    "combination_heater",
    "hydronic_heater",
    "washer",
    "dishwasher",
    "macerating_toilet",
    "slide_hydraulic",
    "slide_cable",
    "slide_rack",
    "hydraulic_leveling",
    "air_leveling",
    "surge_brakes",
    "engine_fire_suppression",
    "tow_dolly",
    "camper_tie_downs",
    "folding_roof",
    "fuel_station",
    "ramp_door",
    "seat_belts",
    "child_seats",
    "electric_drive",
}


def jobs_of(equipment: str) -> list[Procedure]:
    return [
        one
        for one in LIBRARY.procedures.values()
        if equipment in one.equipment or equipment in one.equipment_any
    ]


@pytest.mark.parametrize("equipment", LIBRARY.equipment)
def test_whatever_a_rig_can_have_has_its_jobs(equipment: str) -> None:
    """A tick that changes nothing is a question for nothing."""
    assert jobs_of(equipment)


@pytest.mark.parametrize("equipment", sorted(SINCE_2015))
def test_what_came_since_2015_is_there_with_jobs_of_labeled_source(
    equipment: str,
) -> None:
    assert equipment in LIBRARY.equipment
    for one in jobs_of(equipment):
        assert {source.kind for source in one.sources} <= set(SOURCE_KINDS), one.key
        assert any("steps" in source.of for source in one.sources), one.key


@pytest.mark.parametrize(
    ("kind", "year", "equipment", "usual"),
    [
        ("campervan", 2014, "house_battery_lithium", False),
        ("campervan", 2022, "house_battery_lithium", True),
        ("travel_trailer", 2016, "solar", False),
        ("travel_trailer", 2022, "solar", True),
        ("motorhome", 2012, "inverter", False),
        ("motorhome", 2020, "inverter", True),
        ("tow_dolly", 1999, "surge_brakes", True),
        ("toy_hauler", 2020, "fuel_station", True),
        ("folding_trailer", 2020, "folding_roof", True),
        ("truck_camper", 2020, "camper_tie_downs", True),
        ("motorhome", 1985, "seat_belts", True),
        ("travel_trailer", 2020, "seat_belts", False),
    ],
)
def test_what_is_usual_goes_by_kind_and_year(
    kind: str, year: int, equipment: str, usual: bool
) -> None:
    assert LIBRARY.equipment[equipment].is_usual(kind, year) == usual


@pytest.mark.parametrize(
    "words", ["Tankless heater", "Combination heater", "Hydronic heater"]
)
def test_winterizing_speaks_of_each_kind_of_heater(words: str) -> None:
    assert words in " ".join(LIBRARY.procedures["winterize"].steps)
