"""The order of waking up and putting away, over all kinds of rigs: no need is broken.

What lights, starts or heats is found by its words and reviewed here by key, so that a
new procedure which does so cannot slip in without its needs.
"""

import re
from collections.abc import Iterator
from functools import cache
from random import Random

import pytest

from maintenance.library.model import EVERY_KIND
from maintenance.library.order import run_order
from maintenance.library.proposals import propose
from maintenance.library.reading import load_library

LIBRARY = load_library()
LAP = [
    look.procedure
    for stop in LIBRARY.lap
    if stop.when in {"lap", "first_stop"}
    for look in stop.looks
]
METERS = ("odometer", "towed", "engine", "generator")
OCCASIONS = ("storage_entry", "storage_exit")

LIGHTS = re.compile(
    r"\b(relight|light (the|one|each|it|them)\b"
    r"|start (it|the \w+) on gas|then heat|it to full heat|start it a day before)",
    re.IGNORECASE,
)
# Procedures of an owner with such a sentence among their steps.
FLAMES = {
    "exit_lighting",
    "exit_fridge_lighting",
    "fridge_precool",
    "stove_burners",
    "furnace_autumn",
    "diesel_heater_run",
    "water_heater_anode",
    "water_heater_flush",
    "combination_heater_run",
    "hydronic_run",
    # a leak test itself, which lights one burner at its end
    "propane_joint_check",
}
# It speaks of lighting, and lights nothing in the run it belongs to: at camp, days on.
LIGHTS_LATER = {"propane_off_travel", "cylinder_swap"}

RUNS_WATER = re.compile(
    r"\bpump on\b(?!:)|fresh water into|run (the|each) (faucet|tap|first gallons)"
    r"|fill (the|an? \w+) (tank|gallons)|fill a few gallons|run the flush",
    re.IGNORECASE,
)
# It moves what is in the waste tanks, before the frost.
PUMPS_WASTE = {"macerator_empty", "probe_cleaning"}
STARTS = re.compile(
    r"\b(start the engine|run the engine|close, start,|with the engine running"
    r"|engine running|drive (20|back and forth|a few))",
    re.IGNORECASE,
)
LEAK_TEST = "exit_propane_test"
ALARM_TESTS = {"smoke_alarm_test", "co_alarm_test", "propane_alarm_test"}
STARTS_ENGINE = {
    "exhaust_look",
    "air_tank_drain",
    "air_brake_test",
    "exit_first_roll",
    "probe_cleaning_two_stage",
    "exit_shakedown",
}
HEATS_WATER = {
    "exit_lighting",
    "exit_shakedown",
    "water_heater_flush",
    "combination_heater_run",
    "hydronic_run",
}
APPLIANCES = {
    *FLAMES,
    *STARTS_ENGINE,
    "exit_battery",
    "gfci_test",
    "slide_run",
    "water_heater_full_first",
    "generator_exercise",
}
# (these, each of those first)
RULES = [
    (FLAMES - {"diesel_heater_run"}, {LEAK_TEST, "co_alarm_test", "exit_alarms"}),
    (FLAMES, {"exit_covers", "co_alarm_test", "exit_alarms"}),
    ({"exit_lighting", "exit_fridge_lighting"}, {LEAK_TEST, *ALARM_TESTS}),
    ({"exit_lighting", "exit_fridge_lighting"}, {"burner_nest_look"}),
    ({"exit_lighting", "exit_fridge_lighting"}, {"regulator_nest_look"}),
    ({"exit_fridge_lighting"}, {"fridge_relight_look", "exit_lighting"}),
    ({"exit_shakedown"}, {LEAK_TEST, *ALARM_TESTS, "exit_first_roll"}),
    ({*ALARM_TESTS, "exit_alarms"}, {"exit_battery"}),
    (HEATS_WATER, {"dewinterize", "water_heater_full_first"} - HEATS_WATER),
    ({"water_heater_full_first"}, {"dewinterize"}),
    (
        {"dewinterize", "water_filter", "water_leak_hold", "water_heater_full_first"},
        {"freeze_damage_look"},
    ),
    ({"breakaway_test"}, {"hitch_up_ball", "hitch_up_fifth_wheel"}),
    ({"trailer_brake_roll"}, {"breakaway_test", "walk_departure"}),
    ({"walk_departure"}, {"walk_lights", "tire_pressure", "propane_off_travel"}),
    ({"walk_lights"}, {"hitch_up_ball", "hitch_up_fifth_wheel", "tow_bar_check"}),
    (STARTS_ENGINE, {"under_hood_levels", "exit_battery"}),
    (STARTS_ENGINE - {"exhaust_look"}, {"exhaust_look"}),
    (APPLIANCES, {"exit_covers"}),
    ({"exit_first_roll", "exit_shakedown"}, {"tire_pressure", "lug_look"}),
    ({"generator_exercise"}, {"generator_before_start", "generator_compartment"}),
    ({"house_battery_off", "lithium_store"}, {"store_propane", "winterize"}),
    ({"store_tires", "store_parking_brake"}, {"store_fuel", "waste_tanks_empty"}),
]


def rigs() -> Iterator[tuple[str, frozenset[str]]]:
    """Every kind with all equipment, with none, and with many random sets."""
    everything = sorted(LIBRARY.equipment)
    dice = Random(20261130)  # noqa: S311  (the same rigs each time)
    for kind in EVERY_KIND:
        yield kind, frozenset(everything)
        yield kind, frozenset()
        for _ in range(100):  # a thousand in all
            size = dice.randint(1, len(everything))
            yield kind, frozenset(dice.sample(everything, size))


RIGS = list(rigs())


@cache
def plan(kind: str, equipment: frozenset[str]) -> tuple[str, ...]:
    found = propose(LIBRARY, kind=kind, equipment=equipment, meters=METERS)
    return tuple(one.procedure.key for one in found)


def asked(keys: tuple[str, ...], occasion: str) -> list[str]:
    triggers = ((key, LIBRARY.procedures[key].triggers) for key in keys)
    return [key for key, rules in triggers if any(occasion in rule for rule in rules)]


@cache
def runs() -> list[list[str]]:
    return list(_runs())


def _runs() -> Iterator[list[str]]:
    """The lists of each rig, whole and with a part of their jobs dropped; and all of
    its plan at once."""
    dice = Random(8)  # noqa: S311  (the same jobs each time)
    for kind, equipment in RIGS:
        keys = plan(kind, equipment)
        yield run_order(LIBRARY, keys, "storage-exit")
        yield [key for key in LAP if key in keys]
        for occasion in OCCASIONS:
            system = occasion.replace("_", "-")
            jobs = [*asked(keys, occasion), "freeze_damage_look"]
            yield run_order(LIBRARY, jobs, system)
            some = dice.sample(jobs, dice.randint(0, len(jobs)))
            yield run_order(LIBRARY, some, system)


@cache
def all_needs(key: str) -> frozenset[str]:
    direct = LIBRARY.procedures[key].needs_first
    return frozenset(direct).union(*(all_needs(one) for one in direct))


def broken(run: list[str], later: str, first: str) -> bool:
    return later in run and first in run and run.index(later) < run.index(first)


def test_no_run_of_any_rig_breaks_a_need() -> None:
    assert len(RIGS) > 1000
    for run in runs():
        met: set[str] = set()
        there = set(run)
        for key in run:
            assert all_needs(key) & there <= met, (key, run)
            met.add(key)


@pytest.mark.parametrize(("later", "first"), RULES)
def test_no_run_of_any_rig_breaks_what_safety_asks(
    later: set[str], first: set[str]
) -> None:
    for run in runs():
        found = [(a, b) for a in later for b in first if broken(run, a, b)]
        assert found == [], run


@pytest.mark.parametrize(("later", "first"), RULES)
def test_what_safety_asks_stands_in_the_library_and_is_not_luck(
    later: set[str], first: set[str]
) -> None:
    for key in later:
        assert first <= all_needs(key) | {key}, (key, first - all_needs(key))


def test_whatever_lights_something_is_known() -> None:
    found = {
        key
        for key, one in LIBRARY.procedures.items()
        if one.who != "shop" and any(map(LIGHTS.search, one.steps))
    }
    assert found - LIGHTS_LATER == FLAMES


def test_whatever_starts_an_engine_after_storage_is_known() -> None:
    found = {
        key
        for key in asked(tuple(LIBRARY.procedures), "storage_exit")
        if any(map(STARTS.search, LIBRARY.procedures[key].steps))
    }
    assert found == STARTS_ENGINE - {"exhaust_look", "exit_first_roll"}


def test_nothing_asks_to_run_water_where_frost_is_expected_and_water_stands() -> None:
    """While it stands: what runs water is not asked (`while_stored`, core). When it
    leaves: each after the look for what burst; that no run of any rig breaks a need is
    held above."""
    runs_water = {
        key
        for key, one in LIBRARY.procedures.items()
        if one.who != "shop" and any(map(RUNS_WATER.search, one.steps))
    }
    assert {"drain_traps", "dewinterize", "water_leak_hold"} <= runs_water

    for key in asked(tuple(runs_water), "while_stored"):
        (rule,) = LIBRARY.procedures[key].triggers
        assert rule["while_stored"]["unless_winterized"], key
    for key in set(asked(tuple(runs_water), "storage_exit")):
        assert "freeze_damage_look" in all_needs(key), key
    for key in set(asked(tuple(runs_water), "storage_entry")):
        assert key in PUMPS_WASTE or "winterize" not in all_needs(key), key


@pytest.mark.parametrize(
    "key", ["regulator_nest_look", "burner_nest_look", "fridge_relight_look", LEAK_TEST]
)
def test_look_lights_nothing_and_leads_to_a_job_that_does(key: str) -> None:
    steps = LIBRARY.procedures[key].steps

    assert not any(map(LIGHTS.search, steps))
    assert key in all_needs("exit_fridge_lighting")


def test_list_of_a_motorhome_with_everything_reads_sensibly() -> None:
    jobs = asked(plan("motorhome", frozenset(LIBRARY.equipment)), "storage_exit")

    run = run_order(LIBRARY, jobs, "storage-exit")

    assert run[:2] == ["exit_damage", "exit_covers"]
    assert run[-1] == "exit_shakedown"
    lit = run.index("exit_lighting")
    assert run[lit + 1] == "exit_fridge_lighting"
