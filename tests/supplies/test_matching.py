"""What is asked for in words, and what people call their things."""

import pytest

from maintenance.library.reading import load_library
from maintenance.supplies.matching import (
    asks_for_torque_wrench,
    head_text,
    supply_answers,
    tool_answers,
)


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("flashlight", "Flashlight"),
        ("Deep six-point socket", "Six-point socket of the right size"),
        ("Bottle jack", "Jack for the weight of the rig, with base plate"),
        ("Caliper", "Ruler or caliper"),
        ("Wheel chock", "Wheel chocks"),
        ("Screwdrivers", "Screwdriver"),
        ("Soft brush on a stick", "Soft brush"),
    ],
)
def test_tool_answers_what_is_asked_for(name, asked):
    assert tool_answers(name, asked)


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("Wrench", "Filter wrench"),
        ("Brush", "Soft brush"),
        ("Glove box", "Gloves and boots"),
        ("", "Ladder"),
    ],
)
def test_tool_that_is_less_than_asked_for_does_not_answer(name, asked):
    assert not tool_answers(name, asked)


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("Thread tape", "Thread tape"),
        ("distilled water", "Distilled water, for flooded batteries"),
        ("Anode rod", "Anode rod for this heater"),
        ("Oil", "Oil of the grade in the chassis book"),
    ],
)
def test_supply_answers_by_the_very_words(name, asked):
    assert supply_answers(name, asked)


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("Air filter", "Filter"),
        ("Filter", "Air filter"),
        ("Oil", "Oil filter, where there is one"),
        ("Fresh water", "Water"),
    ],
)
def test_supply_of_another_kind_does_not_answer(name, asked):
    assert not supply_answers(name, asked)


@pytest.mark.parametrize(
    ("asked", "head"),
    [
        ("Jack for the weight of the rig, with base plate", "Jack"),
        ("Ruler or caliper", "Ruler"),
        ("Flashlight", "Flashlight"),
        ("Acid-proof gloves", "Acid-proof gloves"),
    ],
)
def test_head_is_the_thing_without_what_is_said_about_it(asked, head):
    assert head_text(asked) == head


def every_tool():
    return {t for p in load_library().procedures.values() for t in p.tools}


def test_every_tool_of_the_library_is_answered_by_its_own_head():
    """What is ticked as owned is never asked for again."""
    asked = {tool for tool in every_tool() if not asks_for_torque_wrench(tool)}

    assert [t for t in asked if not tool_answers(head_text(t), t)] == []


def test_every_supply_of_the_library_is_answered_by_its_own_head():
    asked = {s for p in load_library().procedures.values() for s in p.supplies}

    assert [s for s in asked if not supply_answers(head_text(s), s)] == []
