"""What the words of the library must say: errors that were found in them once, and what
came with newer rigs. Common practice, but for what names its source."""

import re

import pytest

from maintenance.library.reading import load_library
from tests.library.library_facts import get, proposed, told

NEWER = {
    "air_leveling",
    "black_tank_flush",
    "camper_jacks",
    "camper_tie_downs",
    "child_seats",
    "combination_heater",
    "diesel_exhaust_fluid",
    "dishwasher",
    "electric_drive",
    "engine_fire_suppression",
    "folding_roof",
    "fuel_station",
    "fuel_water_separator",
    "house_battery_lithium",
    "hydraulic_leveling",
    "hydronic_heater",
    "inverter",
    "macerating_toilet",
    "ramp_door",
    "seat_belts",
    "slide_cable",
    "slide_hydraulic",
    "slide_rack",
    "solar",
    "soot_filter",
    "surge_brakes",
    "tow_dolly",
    "washer",
    "water_heater_tankless",
}


def step(key: str, words: str) -> int:
    """Which step has the words; the one that does not is an error."""
    (found,) = [n for n, one in enumerate(get(key).steps) if words in one]
    return found


# --- putting away and waking up -------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [
        "close the relief valve",
        "Black tank flush",
        "vacuum breaker",
        "Dishwasher, washer, and ice maker",
        "Tankless heater",
        "Combination heater",
        "Hydronic heater",
        "macerating toilet",
        "outside shower",
    ],
)
def test_winterizing_forgets_nothing_that_bursts(words: str) -> None:
    assert words in " ".join(get("winterize").steps)


def test_relief_valve_is_closed_again_before_anything_is_drawn_in() -> None:
    closed = step("winterize", "close the relief valve")

    assert closed < step("winterize", "With antifreeze: draw it with the pump")
    filled = step("dewinterize", "Fill the tank")
    assert step("dewinterize", "Close the low drains, relief valve") < filled


def test_water_is_run_after_frost_only_once_burst_parts_were_looked_for() -> None:
    """Common practice: what froze leaks when it has thawed."""
    looked = step("dewinterize", "check for burst parts first")
    assert looked < step("dewinterize", "run the faucets")


@pytest.mark.parametrize(
    "key", ["furnace_autumn", "diesel_heater_run", "combination_heater_run"]
)
def test_fumes_of_a_heater_mean_out_and_911_and_soot_alone_a_shop(key: str) -> None:
    """Common practice, as fire departments teach."""
    cautions = get(key).cautions
    assert any("alarm: everybody out" in one and "911" in one for one in cautions)
    assert not any("Soot" in one and "911" in one for one in cautions)


@pytest.mark.parametrize("key", ["winterize", "dewinterize", "freeze_damage_look"])
def test_line_of_the_black_tank_flush_is_not_forgotten_after_frost(key: str) -> None:
    assert "black tank flush" in told(key).lower()
    assert key in load_library().spots["black_tank_flush"].procedures


# --- propane --------------------------------------------------------------------------


def test_only_the_plastic_nut_of_a_cylinder_is_a_matter_of_the_hand() -> None:
    text = told("cylinder_swap")

    assert "Plastic nut: by hand only, no tool" in text
    assert "Brass connector" in text
    assert "left-hand thread" in text
    for key in ("propane_joint_check", "exit_propane_test"):
        assert "plastic nut" in told(key), key
        assert "hand wheel" not in told(key), key


def test_composite_cylinder_goes_by_its_own_label() -> None:
    text = told("cylinder_requalification")

    assert "composite cylinder" in text
    assert "goes by its own label" in text
    assert "are for steel and aluminum" in text
    assert "Composite" in told("cylinder_look")


# --- wheels ---------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["lug_recheck", "lug_recheck_dual"])
def test_duals_centered_on_the_hub_have_one_set_of_nuts_a_side(key: str) -> None:
    text = told(key)

    assert "one set of nuts on each side" in text
    assert "inner and" in text


# --- batteries ------------------------------------------------------------------------


def test_bare_plates_are_covered_before_any_charge() -> None:
    covered = step("battery_water", "before any charge")

    assert covered < step("battery_water", "charge fully")
    assert covered < step("battery_water", "Fill each charged cell")


def test_each_job_on_rested_voltage_has_one_mark_for_lead_acid() -> None:
    """12.4 V is the mark to recharge, and no figure above it calls a battery worn."""
    keys = ("battery_rest_volts", "battery_stored_charge", "exit_battery")
    for key in keys:
        (low,) = {one.low for one in get(key).measures}
        assert f"{low}" == "12.4", key
        assert not re.search(r"12\.6 V.*worn|worn.*12\.6 V", told(key)), key


# --- papers and recalls ---------------------------------------------------------------


def test_official_inspection_is_for_those_whose_state_asks_for_it() -> None:
    assert "official_inspection" not in proposed("propane", "awning")
    assert "official_inspection" in proposed("state_inspection")
    usual = load_library().equipment["state_inspection"].usual
    assert usual == ()


def test_recalls_are_looked_for_by_vin_and_by_tire_serials() -> None:
    text = told("recall_check")

    assert "VIN" in text
    assert "tire by its full serial" in text
    assert "The date goes into the history" in text


# --- emergencies ----------------------------------------------------------------------


def test_whoever_needs_help_is_told_the_number() -> None:
    for key, one in load_library().procedures.items():
        words = " ".join((*one.cautions, *one.steps, one.unfit))
        assert "call for help" not in words.lower(), key


# --- newer rigs -----------------------------------------------------------------------


@pytest.mark.parametrize("key", sorted(NEWER))
def test_newer_equipment_is_cared_for(key: str) -> None:
    library = load_library()
    asking = {
        one.key
        for one in library.procedures.values()
        if key in (*one.equipment, *one.equipment_any)
    }
    places = {n for n, one in library.spots.items() if key in one.equipment_any}

    assert asking or places


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("soot_filter_watch", "dry grass"),
        ("soot_filter_watch", "never do it inside or under a roof"),
        ("def_level", "Never put this fluid into the fuel tank"),
        ("fuel_station_look", "close the propane, put out every flame and pilot"),
        ("garage_load_check", "Nobody sleeps in or beside the garage"),
        ("inverter_look", "outlets stay live"),
        ("lithium_in_use", "Never charge below 32 °F"),
        ("engine_bay_suppression_look", "Never open the engine bay"),
        ("electric_drive_look", "Orange cables carry voltage that kills"),
        ("camper_load", "Nobody goes under it"),
        ("folding_roof_look", "Fit the roof's own braces"),
        ("ramp_door_look", "Springs and cables are a shop's"),
        ("slide_cable_look", "Setting cables is a shop's"),
        ("slide_hydraulic_look", "Never feel for a leak with a hand"),
        ("hydraulic_leveling_fluid", "Never feel for a leak with a hand"),
        ("air_leveling_look", "no hand, head or tool between tire and body"),
        ("surge_brake_look", "Brake work is a shop's"),
        ("child_seat_check", "Never on a side-facing or rear-facing bench"),
        ("seat_belts_look", "worn in a crash can fail in the next. It is replaced"),
        ("tankless_descale", "Never vinegar together with bleach"),
        ("combination_heater_run", "Nothing may ever be put over or into them"),
        ("hydronic_run", "never open the tank until it is cold"),
        ("washer_clean", "Lint burns"),
        ("macerating_toilet_clean", "The blades can cut fingers off"),
        ("tow_dolly_check", "Never back up"),
    ],
)
def test_danger_of_newer_equipment_is_said_before_the_steps(
    key: str, words: str
) -> None:
    assert words in " ".join(get(key).cautions)


@pytest.mark.parametrize(
    ("equipment", "job"),
    [("surge_brakes", "brake_fluid"), ("surge_brakes", "brake_inspect_trailer")],
)
def test_surge_brakes_are_serviced_like_other_hydraulic_brakes(
    equipment: str, job: str
) -> None:
    assert job in proposed(equipment)


def test_trailer_is_chocked_before_it_is_let_go_and_its_chains_come_off_last() -> None:
    """Common practice, trailer makers' manuals."""
    chocked = step("unhitch", "Chock the trailer's wheels")
    loose = step("unhitch", "open the latch"), step("unhitch", "pull the handle")

    assert chocked < min(loose)
    assert max(loose) < step(
        "unhitch", "Take chains, breakaway cable, and plug off last"
    )
