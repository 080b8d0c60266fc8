"""Kinds of triggers: each of the core has its words, its fields, and an example."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.core import facts
from maintenance.core.reckon import reckon
from maintenance.core.triggers import KINDS, parse_triggers, trigger_to_data
from maintenance.plans import kinds
from maintenance.plans.forms import RulesForm
from maintenance.plans.models import Standing
from maintenance.plans.rule_kind import FormOf
from maintenance.plans.rules import rule_in_words
from maintenance.plans.wording.plain import PLAIN
from maintenance.plans.wording.sentences import SPECIAL

METERS = {"odometer": "mi", "engine": "h"}
FORM = FormOf(METERS)
DAY = timedelta(days=1)
# A kind's module -> a rule in which all that it can have is given.
EXAMPLES = {
    "after": {
        "after": {
            "event": "wheel_off",
            "distance": [50, 100],
            "unit": "mi",
            "meter": "odometer",
        }
    },
    "before_trip": {"before_trip": {"lead": 2}},
    "every_meter": {
        "every": {"distance": 6000, "unit": "mi", "meter": "odometer"},
        "first": {"distance": 1000},
        "severe": {"distance": 3000},
    },
    "every_time": {
        "every": {"days": 90},
        "clock": "in_use",
        "first": {"days": 30},
        "severe": {"days": 45},
    },
    "life": {"life": {"months": 120, "from": "2015-04"}},
    "season": {"season": "autumn"},
    "storage_entry": {"storage_entry": {"by_day": 14, "lead": 3}},
    "storage_exit": {"storage_exit": {}},
    "while_stored": {"while_stored": {"days": 30, "unless_winterized": True}},
}


def module_of(one: type) -> str:
    return one.__module__.rpartition(".")[2]


def test_each_kind_of_the_core_has_a_module_of_its_name_in_plans_and_an_example():
    core = {module_of(kind): kind for kind in KINDS}

    assert {module_of(type(one)): one.trigger for one in kinds.KINDS} == core
    assert EXAMPLES.keys() == core.keys()


@pytest.mark.parametrize("name", EXAMPLES)
def test_rule_is_read_written_and_goes_through_the_form_unchanged(name):
    rule = EXAMPLES[name]
    (parsed,) = parse_triggers([rule], "x")
    shown = RulesForm(meters=METERS, rules=[rule])
    typed = {
        field: "on" if value is True else value
        for field in shown.fields
        if (value := shown[field].value()) not in (None, False, "")
    }

    form = RulesForm(typed, meters=METERS, rules=[])

    assert module_of(type(parsed)) == name
    assert trigger_to_data(parsed) == rule
    assert form.is_valid(), form.errors
    assert form.rules == [rule]


@pytest.mark.parametrize("name", EXAMPLES)
def test_rule_is_said_in_words(name):
    (rule,) = parse_triggers([EXAMPLES[name]], "x")

    assert re.fullmatch(r"[A-Z0-9].{7,}", rule_in_words(rule))


def test_fields_and_reasons_belong_to_one_kind_alone_and_stand_on_the_page():
    fields, reasons = [], [*PLAIN, *SPECIAL]
    for kind in kinds.KINDS:
        own = kind.fields(FORM)
        assert [name for line in kind.lines(FORM) for name in line] == [*own]
        assert {*kind.details, *kind.details.values()} <= own.keys()
        assert not any(field.required for field in own.values())
        fields += own
        reasons += kind.reasons

    assert len(set(fields)) == len(fields)
    assert len(set(reasons)) == len(reasons)


@pytest.mark.parametrize("name", EXAMPLES)
def test_name_of_a_kind_fits_where_the_standing_keeps_it(name):
    kind = next(one for one in KINDS if module_of(one) == name)
    longest = Standing._meta.get_field("governing").max_length

    assert len(kind.key) <= longest


def says(rig: facts.Rig, on: date) -> tuple[object, date]:
    (found,) = reckon(rig, calendar=facts.Calendar(), as_of=on).items
    return (found.standing, found.expected, found.pending), found.changes_on


@pytest.mark.parametrize("name", EXAMPLES)
def test_standing_holds_until_the_day_it_says(name):
    """Nobody reckons before that day: a kind whose windows move on by themselves tells
    so by `turns`."""
    start = date(2026, 5, 4)
    readings = (
        facts.Reading(start - 90 * DAY, Decimal(40000)),
        facts.Reading(start, Decimal(41000)),
    )
    meters = {"odometer": facts.Meter("mi", readings)}
    done = (facts.Completion(start - 60 * DAY),)
    item = facts.Item("x", parse_triggers([EXAMPLES[name]], "x"), done=done)
    event = facts.Event("wheel_off", start - DAY, {"odometer": Decimal(40990)})
    stay = facts.Stay(start - 20 * DAY, planned_until=start + 50 * DAY)
    trip = facts.Trip(start + 70 * DAY, start + 80 * DAY)
    rig = facts.Rig(meters, (item,), stays=(stay,), trips=(trip,), events=(event,))

    first, until = says(rig, start)
    for n in range(1, 150):
        today, holds_until = says(rig, start + n * DAY)
        assert today == first or start + n * DAY >= until
        if start + n * DAY >= until:
            first, until = today, holds_until
