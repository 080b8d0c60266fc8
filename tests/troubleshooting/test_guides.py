"""The guides of the program: whole, safe, and every path in them ends."""

import re
from pathlib import Path

import pytest

from maintenance.core.calculators.batteries import freezing_from_charge
from maintenance.core.trouble import Ending, Question, walk
from maintenance.library.errors import LibraryError
from maintenance.library.reading import load_library
from maintenance.troubleshooting.reading import FOLDER, load_trees, read_trees

TREES = load_trees()
ENDINGS = [
    (tree.key, step)
    for tree in TREES.values()
    for step in tree.steps.values()
    if isinstance(step, Ending)
]
STOPS = [(tree, ending) for tree, ending in ENDINGS if ending.stop]
DANGEROUS = [
    key
    for key, tree in TREES.items()
    if isinstance(first := tree.step(""), Question) and first.danger
]
ALL_EQUIPMENT = frozenset(load_library().equipment)
# Work on these is a licensed shop's; the owner looks, cleans, or leaves.
REPAIRS = re.compile(r"\b(adjust|repair|replace|rewire|open) the (regulator|jet|gas)")
BLOCKING = re.compile(r"\b(block|cover|plug|seal|tape|close)\w*\b[^.]*\bvent", re.I)


def test_there_are_twelve_guides():
    assert len(TREES) == 12


def paths(tree, equipment):
    """Every path of the tree without the ways back, as answers."""
    waiting = [()]
    while waiting:
        path = waiting.pop()
        here = walk(TREES, tree, path, equipment)
        if isinstance(here.now, Ending):
            yield path, here.now
            continue
        waiting += [(*path, answer.key) for answer in here.answers]


@pytest.mark.parametrize("equipment", [ALL_EQUIPMENT, frozenset()])
@pytest.mark.parametrize("tree", TREES)
def test_every_path_comes_to_a_cause(tree, equipment):
    found = list(paths(tree, equipment))

    assert found
    assert all(len(path) <= 13 for path, _ending in found)


@pytest.mark.parametrize("tree", DANGEROUS)
def test_yes_to_danger_stops_or_asks_on_about_danger(tree):
    first = TREES[tree].step("")
    yes = first.answers[0]

    now = walk(TREES, tree, [yes.key], ALL_EQUIPMENT).now

    assert now.stop if isinstance(now, Ending) else now.danger


@pytest.mark.parametrize(("tree", "ending"), STOPS)
def test_danger_is_a_shops_and_has_its_caution(tree, ending):
    assert ending.who == "shop"
    assert ending.cautions


@pytest.mark.parametrize(("tree", "ending"), ENDINGS)
def test_no_cause_tells_an_owner_to_work_on_gas_or_shut_a_vent(tree, ending):
    told = " ".join(ending.do)

    assert not REPAIRS.search(told)
    assert not BLOCKING.search(told)


def test_gas_guide_asks_for_the_smell_before_anything_else():
    first = TREES["gas_flame"].step("")

    assert first.danger
    assert first.ask == "Do you smell gas?"
    assert "leave now and call 911 from outside" in TREES["gas_flame"].before


@pytest.mark.parametrize(
    ("tree", "answers"),
    [
        ("gas_flame", ["smell"]),
        ("gas_flame", ["unknown"]),
        ("water_heater", ["gas"]),
        ("fridge_on_gas", ["gas"]),
    ],
)
def test_smell_of_gas_means_leave_then_911_from_outside(tree, answers):
    ending = walk(TREES, tree, answers).now

    assert ending.stop
    assert ending.unfit
    assert ending.do[0].startswith("Leave now")
    assert ending.do[1].startswith("Call 911 from outside")


def test_alarm_or_headache_is_an_emergency_and_soot_on_a_pan_is_not():
    alarm = walk(TREES, "gas_flame", ["no_smell", "yes"]).now
    sooty = walk(TREES, "gas_flame", ["no_smell", "no", "yes"]).now

    assert alarm.stop
    assert "911" in alarm.do[1]
    assert (sooty.stop, sooty.unfit, sooty.who) == (False, False, "shop")
    assert "Stop using that burner" in sooty.do[0]
    assert "carbon monoxide alarm" in sooty.do[1]
    assert "licensed gas shop" in sooty.do[2]


# --- batteries ------------------------------------------------------------------------

BATTERY_GUIDES = [key for key in TREES if key.endswith("battery_flat")]
CHARGES = re.compile(r"\b(re)?charge\b|\bjump-start|\badd charge", re.IGNORECASE)


def test_there_are_two_guides_about_batteries():
    assert BATTERY_GUIDES == ["chassis_battery_flat", "house_battery_flat"]


@pytest.mark.parametrize("tree", BATTERY_GUIDES)
def test_battery_guide_asks_first_whether_it_may_burst(tree):
    first = TREES[tree].step("")

    assert first.danger
    for word in ("frozen", "swollen", "hot"):
        assert word in first.ask
        assert word in TREES[tree].before
    assert [answer.key for answer in first.answers] == ["frozen", "damaged", "sound"]


@pytest.mark.parametrize("tree", BATTERY_GUIDES)
def test_frozen_battery_is_thawed_and_tested_and_never_charged(tree):
    for answer in ("frozen", "unknown"):
        ending = walk(TREES, tree, [answer]).now
        told = " ".join(ending.do)
        assert ending.stop
        assert ending.do[0] == "Never charge it or jump-start it."
        assert "thaw in a ventilated place, away from flames" in told
        assert "have a shop test it before anyone charges it" in told


@pytest.mark.parametrize("tree", BATTERY_GUIDES)
def test_swollen_or_hot_battery_is_left_alone(tree):
    ending = walk(TREES, tree, ["damaged"]).now

    assert ending.stop
    assert ending.do[0] == "Never charge it or jump-start it."
    assert "call 911 from a distance" in ending.do[1]


@pytest.mark.parametrize("tree", BATTERY_GUIDES)
def test_freezing_points_told_are_those_of_the_calculator(tree):
    """Gravity 1.120 when flat, between 1.10 (18 °F) and 1.15 (5 °F) of
    tests/reference/electrolyte_freeze.csv; 1.265 when full: -75 °F."""
    flat, full = (freezing_from_charge(charge).value for charge in ("0", "100"))

    look = TREES[tree].step("").look
    assert f"at about {flat:.0f} °F when it is flat" in look
    assert f"at about {full:.0f} °F when it is full" in look


def test_ending_that_charges_a_battery_says_when_never_to():
    found = {
        (tree, ending.key): ending
        for tree, ending in ENDINGS
        if not ending.stop and CHARGES.search(" ".join(ending.do))
    }
    # More use of sun or shore power; no battery is put on a charger then and there.
    assert found.pop(("house_battery_flat", "too_much"))

    assert len(found) >= 8
    for place, ending in found.items():
        assert "frozen, swollen or hot" in ending.cautions[0], place


@pytest.mark.parametrize(
    ("was", "now", "problem"),
    [
        ('key = "pump_dead"', 'key = "pump_gone"', "which is not there"),
        ('who = "owner"', 'who = "owned"', "did you mean"),
        ('items = ["pump_strainer"]', 'items = ["pump_strain"]', "did you mean"),
        ("unknown =", "unkown =", "did you mean"),
    ],
)
def test_slip_in_a_file_is_named(tmp_path: Path, was, now, problem):
    for file in FOLDER.glob("*.toml"):
        text = file.read_text()
        if file.stem == "low_water_flow":
            text = text.replace(was, now)
        (tmp_path / file.name).write_text(text)

    with pytest.raises(LibraryError, match=problem):
        read_trees(tmp_path, load_library())
