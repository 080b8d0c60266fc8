"""What the library must never tell an owner, sentence by sentence.

The patterns are coarse on purpose: whatever they catch is read by a person, who mends
the sentence or, where it is harmless, names it here.
"""

import re
from collections.abc import Iterator

import pytest

from maintenance.core.calculators.propane import GAS_CAUTIONS
from maintenance.core.facts import WIDER_KINDS
from maintenance.findings.zones import entries
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library

# Where a repair is a licensed shop's, whatever the skill of the owner.
HAZARDOUS = (
    "brakes-bearings",
    "steering-suspension",
    "propane",
    "power-120v-generator",
)
# What an owner does in these systems, as titles begin.
OWNERS_VERBS = {
    "Check",
    "Clean",
    "Clear",
    "Close",
    "Compare",
    "Drain",
    "Inspect",
    "Leak-test",
    "Look",
    "Press",
    "Pull",
    "Run",
    "Swap",
    "Test",
    "Try",
}
# Upkeep in these systems that is no repair of what makes them hazardous: a 12-volt
# battery, and oil, filter and plug of the generator's engine.
OWNERS_OTHER_WORK = {"breakaway_battery_renew", "generator_oil", "generator_air_plug"}

WORK = re.compile(
    r"\b(repair|replac|renew|rebuild|adjust|bleed|weld(?!s\b)|rewir|splic|solder|overhaul"
    r"|dismantl|unscrew|loosen|tighten|disconnect|take (it |them )?apart)\w*",
    re.IGNORECASE,
)
PARTS = re.compile(
    r"\b((gas|propane) (lines?|hoses?|valves?|pipes?)|pigtails?|gas regulator|burners?"
    r"|jets?|orifices?|flues?|brakes?|brake (shoes?|lines?|drums?)|calipers?|linings?"
    r"|steering|tie rods?|ball joints?|breakers?|outlets?|shore inlet|transfer switch"
    r"|120.volt|springs?|shackles?|axles?)\b",
    re.IGNORECASE,
)
HANDS_OVER = re.compile(
    r"\b(shop|licensed|electrician|have (it|them)|never|not)\b", re.IGNORECASE
)
LIFTS = re.compile(
    r"\b(jack(ed)? (it|them|the \w+) up|(lift|raise) (until|it off the ground)"
    r"|(lift|raise) the (rig|trailer|axle|vehicle|wheel|car)\b"
    r"|(floor|bottle|scissor) jack|jack stands?|axle stands?|crawl|lie under|go under)",
    re.IGNORECASE,
)
CLOSING = (
    r"\b(cover|cap|plug|tape|taping|seal|block|clos|stuff|screen|mesh|foam|wrap|shut"
    r"|wedg|tarp|obstruct)\w*"
)
CLOSES = re.compile(CLOSING, re.IGNORECASE)
VENT = re.compile(
    r"\b(vents?|intakes?|exhausts?|flues?|regulators?|combustion"
    r"|(air|cooling) (in|out)lets?|outside flap|openings?|chimneys?)\b",
    re.IGNORECASE,
)
FORBIDS = re.compile(
    rf"\b(never|no|not|nothing)\b[^.]*?{CLOSING}"
    rf"|{CLOSING}[^.]*\bnever (lies|over|where)\b"
    r"|\bstays? open\b|\b(is|are|slots) free\b"
    r"|\bonly (those|if)\b[^.]*\b(maker|manufacturer) approves\b"
    r"|^A (blocked|covered|sealed)( or loose)? vent (fills|makes|sends|traps)\b",
    re.IGNORECASE,
)
# Sentences that speak of a part or of a danger, read one by one.
HARMLESS = {
    "A dry or dirty lip seal leaks and smells, and a stuck vent spits when the blade "
    "opens.",
    "A forgotten cover over an exhaust sends carbon monoxide inside; one over an "
    "intake starves the flame.",
    "A blocked exhaust or intake sends fumes inside.",
    "A blocked intake or exhaust sends carbon monoxide inside.",
    "A covered inlet or exhaust causes fire and fumes.",
    "A nest on a hot exhaust burns, and a covered air inlet overheats the generator.",
    "Blocked vents trap heat and fumes.",
    "A vent lid, rail, antenna or cover that is loose on the roof: don't travel until "
    "it is secured or taken off.",
    "Empty and clean the cassette, its seal and its vent",
    "Find its vent, a small screened hole that faces down.",
    "Find the regulator: behind the cylinders, or near the tank under its cover.",
    "From the ladder look at each vent cap: there, whole, sealed at its foot, no nest "
    "in the pipe.",
    "Rinse the city water inlet screen, and check hose and regulator",
    "Shut every window, roof vent, and slide near the exhaust.",
    "Inspect roof, skylights, vent lids, air conditioner cover and fins, solar, "
    "antenna, awning, windows and lights.",
    "Stove: lift grates and caps; look at ports and air openings; brush.",
    "Try every vent lid and its screen; look at skylights for cracks.",
    "Vent cap",
}


def procedures() -> Iterator[Procedure]:
    yield from load_library().procedures.values()


def sentences(*texts: str) -> Iterator[str]:
    for text in texts:
        yield from re.split(r"(?<=\.)\s+", text)


def every_sentence(one: Procedure) -> Iterator[str]:
    return sentences(
        one.title, one.why, one.unfit, *one.cautions, *one.steps, *one.supplies
    )


def does_a_repair(sentence: str) -> bool:
    works_on_parts = WORK.search(sentence) and PARTS.search(sentence)
    return bool(works_on_parts) and not HANDS_OVER.search(sentence)


def closes_a_vent(sentence: str) -> bool:
    both = CLOSES.search(sentence) and VENT.search(sentence)
    return bool(both) and not FORBIDS.search(sentence) and sentence not in HARMLESS


# --- who ------------------------------------------------------------------------------


@pytest.mark.parametrize("system", HAZARDOUS)
def test_owner_looks_tests_and_cleans_where_a_repair_is_a_shop_s(system: str) -> None:
    owners = {
        one.key: one.title.split()[0]
        for one in procedures()
        if one.system == system and one.who != "shop"
    }

    assert owners
    others = {key for key, verb in owners.items() if verb not in OWNERS_VERBS}
    assert others <= OWNERS_OTHER_WORK


def test_no_step_of_an_owner_repairs_gas_brakes_steering_or_mains() -> None:
    found = [
        (one.key, sentence)
        for one in procedures()
        if one.who != "shop"
        for sentence in sentences(one.title, *one.steps)
        if does_a_repair(sentence)
    ]
    assert found == []


@pytest.mark.parametrize(
    "sentence",
    [
        "Renew the propane hose and test it.",
        "Adjust the brake shoes until they drag.",
        "Replace the outlet in the kitchen.",
        "Unscrew the burner and clean the jet with a pin.",
        "Tighten the tie rod.",
    ],
)
def test_a_repair_would_be_caught(sentence: str) -> None:
    assert does_a_repair(sentence)


def test_only_a_shop_lifts_a_rig() -> None:
    found = [
        (one.key, text)
        for one in procedures()
        if one.who != "shop"
        for text in (one.title, *one.steps, *one.tools)
        if LIFTS.search(text) and "without going under" not in text
    ]
    assert found == []
    assert load_library().procedures["wheel_change"].who == "shop"


@pytest.mark.parametrize(
    "sentence",
    ["Jack the axle up.", "Lift the rig until the tire is clear.", "Axle stands"],
)
def test_lifting_would_be_caught(sentence: str) -> None:
    assert LIFTS.search(sentence)


# --- cautions -------------------------------------------------------------------------


def test_only_the_plainest_work_has_no_cautions() -> None:
    bare = {one.key for one in procedures() if not one.cautions}

    assert bare == {
        "antenna_amplifier_off",
        "tire_register",
        "warranty_last_look",
        "wiper_blades",
    }
    for key in bare:
        one = load_library().procedures[key]
        assert (one.who, one.safety, one.unfit, one.raises) == ("owner", False, "", ())


@pytest.mark.parametrize(
    "key", ["propane_joint_check", "exit_propane_test", "propane_tank_look"]
)
def test_leaks_are_looked_for_with_an_approved_solution_and_no_flame(key: str) -> None:
    one = load_library().procedures[key]
    words = " ".join((*one.cautions, *one.supplies))

    assert "approved for propane" in words
    assert "dish soap" not in words
    assert re.search(r"(never look for a leak with a|no) flame", words, re.IGNORECASE)


def test_whoever_burns_something_tests_the_carbon_monoxide_alarm_first() -> None:
    for key in (
        "exit_lighting",
        "exit_fridge_lighting",
        "furnace_autumn",
        "diesel_heater_run",
        "combination_heater_run",
        "hydronic_run",
        "generator_exercise",
        "exhaust_look",
    ):
        one = load_library().procedures[key]
        words = " ".join((*one.cautions, *one.steps)).lower()
        assert "carbon monoxide alarm" in words, key


# Steps that put a charge into a battery, or lead to it.
CHARGES = re.compile(
    r"\b(re)?charg(e|es|ing)\b|\bcharger on\b|\bjump(-| )?start|\bmaintainer\b|\bboost",
    re.IGNORECASE,
)
# Read one by one: "charge" here is no battery's, or nothing is charged by the work.
CHARGES_NOTHING = {
    "extinguisher_six_year",  # its own filling
    "trailer_plug",  # a look at the charge line while the engine runs
}
CHARGED_BY_OWNERS = {
    "battery_new_check",
    "battery_rest_volts",
    "battery_stored_charge",
    "battery_water",
    "breakaway_battery",
    "breakaway_battery_renew",
    "chassis_battery_off",
    "exit_battery",
    "house_battery_off",
    "lithium_in_use",
    "lithium_store",
    "slide_run",
    "standing_draw",
}


def test_whatever_charges_a_battery_is_known() -> None:
    found = {one.key for one in procedures() if any(map(CHARGES.search, one.steps))}

    assert found - CHARGES_NOTHING == CHARGED_BY_OWNERS
    assert found >= CHARGES_NOTHING


@pytest.mark.parametrize("key", sorted(CHARGED_BY_OWNERS))
def test_battery_that_may_burst_is_never_charged_and_that_is_said_first(
    key: str,
) -> None:
    cautions = load_library().procedures[key].cautions

    (said,) = [one for one in cautions if "frozen" in one and "swollen" in one]
    assert re.search(r"\bhot\b.*can explode", said)
    assert "Never charge or jump-start it" in said
    assert "ventilated place away from flames" in said
    assert "tested before you charge it" in said
    first = cautions[0] == said or "smell of propane" in cautions[0]
    assert first


@pytest.mark.parametrize(
    "step",
    [
        "Charge it overnight.",
        "Recharge the battery.",
        "Switch the charger on.",
        "Jump-start it from the tow vehicle.",
        "Leave it on a maintainer.",
    ],
)
def test_charging_would_be_caught(step: str) -> None:
    assert CHARGES.search(step)


# --- vents ----------------------------------------------------------------------------


def test_no_sentence_closes_a_vent_unless_to_forbid_it() -> None:
    found = [
        (one.key, sentence)
        for one in procedures()
        for sentence in every_sentence(one)
        if closes_a_vent(sentence)
    ]
    assert found == []


def test_sentences_held_harmless_are_still_there() -> None:
    said = {sentence for one in procedures() for sentence in every_sentence(one)}
    assert said >= HARMLESS


@pytest.mark.parametrize(
    "sentence",
    [
        "Cover the furnace vent with tape.",
        "Stuff the openings with steel wool.",
        "Tape over the regulator against dust.",
        "Fit a fine screen over the exhaust.",
        "Plug the water heater's intake for the winter.",
    ],
)
def test_closing_a_vent_would_be_caught(sentence: str) -> None:
    assert closes_a_vent(sentence)


def test_a_screen_is_spoken_of_only_as_its_appliance_s_manufacturer_approves() -> None:
    screens = [
        (one.key, sentence)
        for one in procedures()
        for sentence in every_sentence(one)
        if "insect screen" in sentence.lower()
    ]
    assert {key for key, _sentence in screens} == {
        "burner_nest_look",
        "fridge_vents",
        "furnace_autumn",
        "store_rodents",
    }
    for key, sentence in screens:
        assert re.search(r"\bonly\b.*\b(maker|manufacturer) approves\b", sentence), key


# --- events and times -----------------------------------------------------------------


def test_every_event_that_work_raises_has_a_follow_up() -> None:
    raised = {event for one in procedures() for event in one.raises}
    followed = {
        rule["after"]["event"]
        for one in procedures()
        for rule in one.triggers
        if "after" in rule
    }
    assert {WIDER_KINDS.get(one, one) for one in raised} <= followed


def test_minutes_are_an_owner_s_own_time() -> None:
    """What runs or stands by itself (a generator, a night away) is not counted."""
    long = {one.key for one in procedures() if one.who != "shop" and one.minutes > 120}
    assert long == set()
    assert load_library().procedures["generator_exercise"].minutes == 20


def test_caution_of_a_smell_of_gas_says_911_wherever_it_stands() -> None:
    """Common practice, as fire departments teach: out first, then the call."""
    cautions = [line for one in procedures() for line in one.cautions]
    cautions += [line.text for zone in entries() for line in zone.cautions]
    cautions += GAS_CAUTIONS
    told = [
        one for one in cautions if re.search(r"\b[Ss]mell (of )?(gas|propane)", one)
    ]

    assert len(told) >= 10
    assert [one for one in told if "911" not in one] == []
