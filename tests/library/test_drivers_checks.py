"""What a driver looks at before a trip, and what a rig has aboard, against the rules
that others are bound by: for a household's rig a guide."""

from decimal import Decimal

import pytest

from maintenance.core.calculators.propane import fill_by_volume
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from tests.library.library_facts import cited, get, proposed, told

LAP = {
    look.procedure
    for stop in load_library().lap
    if stop.when == "lap"
    for look in stop.looks
}

# 49 CFR 392.7(a), the parts of which a driver is to be satisfied before the vehicle is
# driven; 396.11(a)(1) lists the same for the report at the end of a day. Each with the
# job before a trip that looks at it, and the words.
PARTS = [
    ("service brakes", "walk_departure", "the pedal is firm and stops you straight"),
    ("trailer brakes", "trailer_brake_roll", "lever"),
    ("trailer brake connections", "hitch_up_ball", "able"),
    ("parking brake", "walk_departure", "the parking brake holds"),
    ("steering mechanism", "walk_departure", "steering turns freely"),
    ("lighting devices", "walk_lights", "brake lights"),
    ("tires", "tire_condition", "tread"),
    ("horn", "walk_lights", "horn"),
    ("windshield wipers", "walk_lights", "wipers"),
    ("rear-vision mirrors", "walk_lights", "mirrors"),
    ("coupling devices", "hitch_up_ball", "oupler"),
    ("coupling of a fifth wheel", "hitch_up_fifth_wheel", "jaws"),
    ("wheels and rims", "lug_look", "rust"),
    ("emergency equipment", "extinguisher_look", "powder"),
]


@pytest.mark.parametrize(("part", "key", "words"), PARTS, ids=[x[0] for x in PARTS])
def test_each_part_of_49_cfr_392_7_and_396_11_is_looked_at_before_a_trip(
    part: str, key: str, words: str
) -> None:
    procedure = get(key)

    assert words in f"{procedure.title} {told(key)}", part
    assert any("before_trip" in rule for rule in procedure.triggers)
    assert procedure.safety
    assert key in LAP


def test_what_is_tried_at_the_wheel_names_the_rule() -> None:
    assert "49 CFR 392.7(a)" in cited("walk_departure", "at the wheel")


@pytest.mark.parametrize("kind", ["motorhome", "travel_trailer", "fifth_wheel"])
def test_the_lap_and_the_lights_are_proposed_for_each_kind(kind: str) -> None:
    assert {"walk_departure", "walk_lights"} <= proposed(kind=kind)


# --- propane: NFPA 58 and NFPA 1192 ---------------------------------------------------


def test_tank_is_filled_to_80_percent() -> None:
    """NFPA 58, as fire departments quote it."""
    assert fill_by_volume(Decimal(30)).value == 24
    assert "NFPA 58" in cited("cylinder_swap", "80%")


def test_regulator_gives_11_inches_of_water_column() -> None:
    """NFPA 1192 and service practice, from memory: 11 in, 10.5 to 11.5."""
    [measure] = [x for x in get(LEAK).measures if x.name == "regulator pressure"]
    assert (measure.low, measure.high) == (Decimal("10.5"), Decimal("11.5"))
    [source] = [x for x in get(LEAK).sources if "regulator pressure" in x.of]
    assert (source.kind, "NFPA 1192" in source.text) == ("from memory", True)


LEAK = "propane_leak_check"


def test_rig_with_propane_and_electricity_usually_has_its_alarm() -> None:
    """NFPA 1192 6.4.8, as an owner's manual quotes it: where both are fitted."""
    known = load_library().equipment
    with_gas = set(known["propane"].usual) & set(known["shore_power"].usual)
    assert with_gas <= set(known["propane_alarm"].usual)


def test_alarms_live_as_long_as_their_kind_and_are_tested_before_each_trip() -> None:
    """NFPA 72: 10 years for smoke. Carbon monoxide and propane by their label, else
    five: trade practice."""
    years = {
        "smoke_alarm_renew": 10,
        "co_alarm_renew": 5,
        "propane_alarm_renew": 5,
    }
    for key, most in years.items():
        assert _life(get(key)) == most, key
    for key in ("smoke_alarm_test", "co_alarm_test", "propane_alarm_test"):
        assert any("before_trip" in rule for rule in get(key).triggers), key


def _life(procedure: Procedure) -> object:
    [life] = [rule["life"] for rule in procedure.triggers if "life" in rule]
    return life["years"]  # type: ignore[index, call-overload]
