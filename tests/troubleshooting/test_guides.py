"""The guides of the program: whole, safe, and every path in them ends."""

import functools
import re
from pathlib import Path

import pytest

from maintenance.core.calculators.batteries import freezing_from_charge
from maintenance.core.trouble import (
    NOT_CURED,
    NOT_KNOWN,
    Ending,
    Question,
    leads_of,
    walk,
)
from maintenance.library.errors import LibraryError
from maintenance.library.reading import load_library
from maintenance.troubleshooting.finding import find_guides
from maintenance.troubleshooting.reading import FOLDER, load_trees, read_trees

TREES = load_trees()
ENDINGS = [
    (tree.key, step)
    for tree in TREES.values()
    for step in tree.steps.values()
    if isinstance(step, Ending)
]
STOPS = [(tree, ending) for tree, ending in ENDINGS if ending.stop]
ALL_EQUIPMENT = frozenset(load_library().equipment)
# Work on these is a licensed shop's; the owner looks, cleans, or leaves.
REPAIRS = re.compile(r"\b(adjust|repair|replace|rewire|open) the (regulator|jet|gas)")
BLOCKING = re.compile(r"\b(block|cover|plug|seal|tape|close)\w*\b[^.]*\bvent", re.I)


GUIDES = [
    "ac_weak",
    "alarm_sounds",
    "brakes_pull",
    "breaker_trips",
    "burning_smell",
    "chassis_battery_flat",
    "engine_hot",
    "fridge_on_gas",
    "frozen_lines",
    "furnace_cycles",
    "gas_flame",
    "generator_stops",
    "house_battery_flat",
    "leak_stain",
    "low_water_flow",
    "pump_cycles",
    "sewer_odor",
    "slide_stuck",
    "tank_gauge",
    "water_heater",
    "wheel_vibration",
]


def test_these_are_the_guides():
    assert list(TREES) == GUIDES


# --- every path -----------------------------------------------------------------------


def steps_on(here):
    """Every answer that can be given there: those shown, and “I don't know”."""
    yield from (answer.key for answer in here.answers)
    if isinstance(here.now, Question) and here.now.unknown is not None:
        yield NOT_KNOWN
    if isinstance(here.now, Ending) and here.now.not_cured is not None:
        yield NOT_CURED


def steps_reached(tree, equipment):
    """Each step of a guide with one path to it, by the shortest way.

    From every place that can be reached every answer is given. A place reached twice
    goes on in the same way, since where a path goes depends on the step alone: so this
    walks all paths.
    """
    waiting, seen = [()], set()
    while waiting:
        path = waiting.pop(0)
        here = walk(TREES, tree, path, equipment)
        if (here.tree.key, here.now.key) in seen:
            continue
        seen.add((here.tree.key, here.now.key))
        yield path, here
        waiting += [(*path, answer) for answer in steps_on(here)]


# Rigs that differ in what a guide asks about: all of it, none, one of it, all but one.
ASKED = frozenset().union(
    *(
        answer.needs
        for tree in TREES.values()
        for step in tree.steps.values()
        if isinstance(step, Question)
        for answer in step.answers
    )
)
KITS = [None, ALL_EQUIPMENT, frozenset()]
KITS += [frozenset({name}) for name in ASKED] + [ALL_EQUIPMENT - {x} for x in ASKED]


@pytest.mark.parametrize("tree", TREES)
def test_from_every_step_on_every_rig_a_path_comes_to_a_cause(tree):
    """By going back from the causes: whatever was answered, a cause can be reached."""
    for kit in KITS:
        ways: dict[tuple[str, str], set[tuple[str, str]]] = {}
        ends = set()
        for path, here in steps_reached(tree, kit):
            place = (here.tree.key, here.now.key)
            if isinstance(here.now, Ending):
                ends.add(place)
            for answer in steps_on(here):
                then = walk(TREES, tree, (*path, answer), kit)
                ways.setdefault((then.tree.key, then.now.key), set()).add(place)
        reached, waiting = set(ends), list(ends)
        while waiting:
            back = ways.get(waiting.pop(), set()) - reached
            reached |= back
            waiting += back
        lost = {
            (here.tree.key, here.now.key) for _path, here in steps_reached(tree, kit)
        } - reached
        assert not lost


@functools.cache
def most_questions(tree, key):
    """Of all paths from this step on without the marked ways back."""
    step = TREES[tree].step(key)
    rest = [
        most_questions(lead.tree, lead.step)
        for lead in leads_of(step)
        if not lead.again
    ]
    return isinstance(step, Question) + max(rest, default=0)


@pytest.mark.parametrize("tree", TREES)
def test_longest_of_all_paths_is_short_enough_for_a_driveway(tree):
    assert 2 <= most_questions(tree, "") <= 16


@pytest.mark.parametrize("tree", TREES)
def test_nothing_is_called_likely_by_not_knowing(tree):
    """On any rig, after “I don't know” at every question that has it."""
    for kit in KITS:
        for path, here in steps_reached(tree, kit):
            if not isinstance(here.now, Question) or here.now.unknown is None:
                continue
            then = walk(TREES, tree, (*path, NOT_KNOWN), kit).now
            if isinstance(then, Ending):
                assert then.sure != "likely", (path, then.key)


@pytest.mark.parametrize("tree", TREES)
def test_who_knows_nothing_is_told_nothing_for_likely(tree):
    """Nothing but “I don't know”, as long as that is an answer."""
    path: tuple[str, ...] = ()
    here = walk(TREES, tree, path)
    while isinstance(here.now, Question):
        answers = list(steps_on(here))
        if NOT_KNOWN not in answers:
            return
        path = (*path, NOT_KNOWN)
        here = walk(TREES, tree, path)

    assert here.now.sure != "likely"


# --- danger first ---------------------------------------------------------------------


@pytest.mark.parametrize("tree", TREES)
def test_first_question_is_the_danger_of_the_subject_on_every_rig(tree):
    for kit in KITS:
        first = walk(TREES, tree, (), kit).now
        assert first is TREES[tree].step("")
        assert first.danger
        assert first.cost == "look"


@pytest.mark.parametrize("tree", TREES)
def test_yes_to_danger_stops(tree):
    first = TREES[tree].step("")
    yes = first.answers[0]

    now = walk(TREES, tree, [yes.key], ALL_EQUIPMENT).now

    assert isinstance(now, Ending)
    assert now.stop


def asks_on_about_danger(lead):
    step = TREES[lead.tree].step(lead.step)
    return step.stop if isinstance(step, Ending) else step.danger


@pytest.mark.parametrize("tree", TREES)
def test_not_knowing_about_danger_is_danger_or_the_next_look(tree):
    """Fire, gas and batteries count as they may be; where a look can tell, it comes
    next, and not knowing that either is danger."""
    unknown = TREES[tree].step("").unknown
    assert asks_on_about_danger(unknown)

    looked = TREES[unknown.tree].step(unknown.step)
    if isinstance(looked, Question) and looked.unknown is not None:
        assert asks_on_about_danger(looked.unknown)


@pytest.mark.parametrize(("tree", "ending"), STOPS)
def test_danger_is_a_shops_and_has_its_caution(tree, ending):
    assert ending.who == "shop"
    assert ending.cautions
    assert ending.not_cured is None


@pytest.mark.parametrize(
    ("tree", "ending"), [row for row in STOPS if row[1].danger == "leave"]
)
def test_leaving_comes_before_911_and_911_before_all_else(tree, ending):
    """A shock and somebody caught are no matter of leaving: clear of it first."""
    said = next(n for n, line in enumerate(ending.do) if "911" in line)

    away = ("Leave now", "Get everybody away", "Outside: get clear", "Finger off")
    assert ending.do[0].startswith(away)
    assert said <= (2 if ending.key == "shock" else 1)


NO_HELP = {"battery_frozen", "trailer_brakes", "trailer_brakes_unknown", "pulls"}
NO_HELP |= {"linings", "worked_loose", "tread_gone", "tire_low", "sinks"}
NO_HELP |= {"mechanism", "coolant"}


@pytest.mark.parametrize(
    ("tree", "ending"), [row for row in STOPS if row[1].danger == "stop"]
)
def test_what_may_get_worse_says_when_to_call_911(tree, ending):
    told = any("911" in line for line in ending.do)

    assert told or ending.key in NO_HELP


@pytest.mark.parametrize(("tree", "ending"), ENDINGS)
def test_no_cause_tells_an_owner_to_work_on_gas_or_shut_a_vent(tree, ending):
    told = " ".join(ending.do)

    assert not REPAIRS.search(told)
    assert not any(BLOCKING.search(line) for line in ending.do)


SHOP = re.compile(r"\b(gas valve|brake that|linings|bearing|cooling unit|alternator)\b")


@pytest.mark.parametrize(("tree", "ending"), ENDINGS)
def test_gas_brakes_mains_and_lifting_end_at_a_shop(tree, ending):
    if SHOP.search(ending.cause):
        assert ending.who == "shop"


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
        ("furnace_cycles", ["gas"]),
        ("sewer_odor", ["gas"]),
        ("alarm_sounds", ["gas"]),
        ("generator_stops", ["fuel"]),
        ("burning_smell", ["gas"]),
        ("frozen_lines", ["gas"]),
        ("tank_gauge", ["gas"]),
    ],
)
def test_smell_of_gas_means_leave_then_911_from_outside(tree, answers):
    ending = walk(TREES, tree, answers).now

    assert ending.danger == "leave"
    assert ending.unfit
    assert ending.do[0].startswith("Leave now")
    assert ending.do[1].startswith("Call 911 from outside")


@pytest.mark.parametrize(
    ("tree", "answer"),
    [
        ("alarm_sounds", "ill"),
        ("alarm_sounds", "unknown"),
        ("furnace_cycles", "yes"),
        ("generator_stops", "ill"),
        ("engine_hot", "fumes"),
        ("sewer_odor", "yes"),
    ],
)
def test_carbon_monoxide_means_leave_then_911_from_outside(tree, answer):
    ending = walk(TREES, tree, [answer]).now

    assert ending.key == "monoxide"
    assert ending.do[0].startswith("Leave now")
    assert ending.do[1].startswith("Call 911 from outside")


def test_alarm_or_headache_is_an_emergency_and_soot_on_a_pan_is_not():
    alarm = walk(TREES, "gas_flame", ["no_smell", "yes"]).now
    sooty = walk(TREES, "gas_flame", ["no_smell", "no", "yes"]).now
    outlet = walk(TREES, "furnace_cycles", ["soot"]).now

    assert alarm.danger == "leave"
    assert "911" in alarm.do[1]
    assert (sooty.stop, sooty.unfit, sooty.who) == (False, False, "shop")
    assert "Stop using that burner" in sooty.do[0]
    assert "carbon monoxide alarm" in sooty.do[1]
    assert "licensed gas shop" in sooty.do[2]
    assert outlet.danger == "stop"


# --- figures and where they are from --------------------------------------------------

PUBLISHED = [
    ("alarm_sounds", "danger", "three beeps", "NFPA, Fire Prevention Week 2021"),
    ("alarm_sounds", "which_chirps", "10 years", "NFPA 72"),
    ("breaker_trips", "pedestal_power", "114 to 126 V", "ANSI C84.1, Range A"),
    ("ac_weak", "volts", "114 to 126 V", "ANSI C84.1, Range A"),
    ("wheel_vibration", "tread", "2/32 in", "49 CFR 393.75(b) and (c)"),
    ("wheel_vibration", "tire_low", "a fifth", "29 CFR 1910.177(f)(4)"),
    ("brakes_pull", "faded", "140 °C", "FMVSS 116 S5.1"),
    ("generator_stops", "overload", "3.5%", "generator set manual"),
    ("house_battery_flat", "rested", "12.1 V", "Battery Council International"),
    ("breaker_trips", "gfci_shop", "GFCI", "US Consumer Product Safety Commission"),
]


def told_in(step):
    if isinstance(step, Question):
        words = [answer.words for answer in step.answers]
        return " ".join([step.ask, step.look, *words])
    return " ".join([step.cause, *step.do, *step.cautions, step.source])


@pytest.mark.parametrize(("tree", "key", "figure", "source"), PUBLISHED)
def test_published_fact_stands_with_its_source(tree, key, figure, source):
    step = TREES[tree].step(key)

    assert figure in told_in(step)
    assert "published" in step.source
    assert source in step.source


def test_every_source_that_is_published_is_in_the_table_above():
    known = {source for *_rest, source in PUBLISHED} | {"off-road vehicle's manual"}
    known |= {"ANSI C84.1, Range A"}
    for tree in TREES.values():
        for step in tree.steps.values():
            if "published" in step.source:
                assert any(source in step.source for source in known), step.key


def test_pedestal_limits_are_those_of_the_how_to():
    """ANSI C84.1 Range A, and plus or minus 10 % of 120 V."""
    said = " ".join(load_library().procedures["pedestal_test"].steps)
    for tree, key in (("breaker_trips", "pedestal_power"), ("ac_weak", "volts")):
        look = TREES[tree].step(key).look
        for limit in ("114 to 126 V", "below 108 V"):
            assert limit in look
            assert limit in said


def test_low_tire_is_one_saying_in_guides_and_how_to():
    """29 CFR 1910.177(f)(4): what has more than 80 % may be filled on the vehicle."""
    how_to = load_library().procedures["tire_pressure"]
    told = [" ".join(how_to.cautions), how_to.unfit]
    for key in ("tire_low", "too_soft", "flat_spot"):
        told.append(told_in(TREES["wheel_vibration"].step(key)))

    for text in told:
        assert "a fifth or more below" in text
        assert "quarter" not in text


def test_house_battery_is_called_worn_only_below_the_limit_of_its_how_to():
    """At 12.4 V or more after a full charge it is looked for what drains it; from there
    down to 12.1 V a load test decides; nothing is called likely."""
    low = load_library().procedures["battery_rest_volts"].measures[0].low
    path = ["sound", "yes"]

    def at(volts, *more):
        return walk(TREES, "house_battery_flat", [*path, volts, *more]).now

    assert at(str(low)).key == "draw"
    assert at("12.3").key == "cells"
    assert at("12.3", "no").sure == "unclear"
    assert at("12.0").key == "worn"
    assert "load-tested" in at("12.0").do[0]


def test_pedal_that_is_suddenly_hard_stops_too():
    """Common practice: the booster is gone, and with it most of the brakes."""
    first = TREES["brakes_pull"].step("")

    gone = next(one for one in first.answers if one.key == "gone")
    assert "suddenly hard" in gone.words
    assert walk(TREES, "brakes_pull", ["gone"]).now.unfit


def test_trailer_with_surge_brakes_that_pushes_is_not_towed():
    kit = ALL_EQUIPMENT - {"electric_drum_brakes"}
    now = walk(TREES, "brakes_pull", ["no", "surge"], kit).now

    assert now.stop
    assert now.unfit


def test_chassis_battery_is_judged_by_the_limit_of_its_how_to():
    """Charged and rested, below 12.4 V, and even then a load test decides."""
    measure = load_library().procedures["battery_rest_volts"].measures[0]
    rested = TREES["chassis_battery_flat"].step("rested").measure

    assert {band.low or band.high for band in rested.bands} == {measure.low}
    worn = walk(TREES, "chassis_battery_flat", ["sound", "no", "yes", "no", "12.3"]).now
    assert "load-tested" in worn.do[0]
    assert (
        walk(
            TREES, "chassis_battery_flat", ["sound", "no", "yes", "no", "12.5"]
        ).now.key
        == "running"
    )


# --- found by plain words -------------------------------------------------------------

SAID = [
    ("furnace will not light", "furnace_cycles"),
    ("furnace won't light", "furnace_cycles"),
    ("heater won't start", "furnace_cycles"),
    ("booster dead", "brakes_pull"),
    ("hard brake pedal", "brakes_pull"),
    ("booster dead", "chassis_battery_flat"),
    ("antenna booster", "house_battery_flat"),
    ("truck won't start", "chassis_battery_flat"),
    ("generator quits", "generator_stops"),
    ("slide jammed", "slide_stuck"),
    ("AC not cold", "ac_weak"),
    ("engine runs hot", "engine_hot"),
    ("brakes fade", "brakes_pull"),
    ("trailer brakes do not work", "brakes_pull"),
    ("electric shock", "breaker_trips"),
    ("smoke detector beeping", "alarm_sounds"),
    ("warning light", "engine_hot"),
    ("generator will not start", "generator_stops"),
    ("brakes pull", "brakes_pull"),
    ("brakes grind", "brakes_pull"),
    ("breaker trips", "breaker_trips"),
    ("GFCI will not reset", "breaker_trips"),
    ("tingle", "breaker_trips"),
    ("alarm chirps", "alarm_sounds"),
    ("carbon monoxide alarm", "alarm_sounds"),
    ("slide stuck", "slide_stuck"),
    ("jack will not come up", "slide_stuck"),
    ("air conditioner freezes", "ac_weak"),
    ("AC not cooling", "ac_weak"),
    ("engine overheating", "engine_hot"),
    ("check engine light", "engine_hot"),
    ("frozen pipes", "frozen_lines"),
    ("burning smell", "burning_smell"),
    ("battery won't charge", "house_battery_flat"),
    ("engine does not crank", "chassis_battery_flat"),
    ("no hot water", "water_heater"),
    ("smell of gas", "gas_flame"),
    ("fridge not cold", "fridge_on_gas"),
    ("roof leak", "leak_stain"),
    ("low water pressure", "low_water_flow"),
    ("pump runs", "pump_cycles"),
    ("rotten eggs", "sewer_odor"),
    ("black tank sensor", "tank_gauge"),
    ("low tire", "wheel_vibration"),
]


def test_every_guide_is_in_the_list_of_what_is_said():
    assert {guide for _words, guide in SAID} == set(GUIDES)


@pytest.mark.parametrize(("typed", "guide"), SAID)
def test_guide_is_found_by_plain_words(typed, guide):
    assert guide in [tree.key for tree in find_guides(typed)]


@pytest.mark.parametrize(
    ("typed", "guide"),
    [
        ("my furnace won\u2019t light", "furnace_cycles"),
        ("the furnace blows cold air", "furnace_cycles"),
        ("my fridge is warm on propane", "fridge_on_gas"),
        ("breaker trips when AC starts", "breaker_trips"),
        ("black tank smells", "sewer_odor"),
        ("trailer sways in wind", "wheel_vibration"),
        ("the brakes are grinding", "brakes_pull"),
        ("smell gas", "gas_flame"),
        ("we smell propane inside", "gas_flame"),
    ],
)
def test_sentence_leads_to_the_nearest_guide(typed, guide):
    assert find_guides(typed)[0].key == guide


def test_words_that_no_guide_has_find_none():
    assert find_guides("zebra quorbit") == []


def test_all_guides_are_found_by_no_words():
    assert find_guides(" ") == list(TREES.values())


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
    assert "rotten-egg smell" in first.ask
    assert "hissing" in first.ask
    keys = [answer.key for answer in first.answers]
    assert keys == ["venting", "frozen", "damaged", "sound"]


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
def test_swollen_battery_is_left_alone_and_a_hot_one_is_911(tree):
    swollen = walk(TREES, tree, ["damaged"]).now
    hot = walk(TREES, tree, ["venting"]).now

    assert swollen.danger == "stop"
    assert swollen.do[0] == "Never charge it or jump-start it."
    assert "call 911 from outside" in swollen.do[1]
    assert hot.danger == "leave"
    assert hot.do[1].startswith("Call 911 from outside")
    assert "Never charge it or jump-start it." in hot.do


@pytest.mark.parametrize("tree", BATTERY_GUIDES)
def test_freezing_points_told_are_those_of_the_calculator(tree):
    """Gravity 1.120 when flat, between 1.10 (18 °F) and 1.15 (5 °F) of
    tests/reference/electrolyte_freeze.csv; 1.265 when full: -75 °F."""
    flat, full = (freezing_from_charge(charge).value for charge in ("0", "100"))

    look = TREES[tree].step("").look
    assert f"at about {flat:.0f} °F when it is flat" in look
    assert f"at about {full:.0f} °F when it is full" in look


NO_CHARGER = [("house_battery_flat", "too_much")]


def test_ending_that_charges_a_battery_says_when_never_to():
    found = {
        (tree, ending.key): ending
        for tree, ending in ENDINGS
        if not ending.stop and CHARGES.search(" ".join(ending.do))
    }
    # More use of sun or shore power, and starting parts that hold a charge: no battery
    # is put on a charger then and there.
    for place in NO_CHARGER:
        found.pop(place)

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
