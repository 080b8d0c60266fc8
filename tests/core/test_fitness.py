"""By what an item makes its rig unfit to travel."""

from datetime import date, timedelta

import pytest

from maintenance.core.facts import Calendar, Completion, Event, Item, Rig
from maintenance.core.reckon import reckon
from maintenance.core.triggers import parse_triggers

AS_OF = date(2026, 5, 4)
DAY = timedelta(days=1)
YEARLY = {"every": {"months": 12}}
CHECK = {"after": {"event": "collision", "days": [0, 1]}}


def of(*rules, done=None, outcome="done", **more):
    completions = (Completion(done, outcome=outcome),) if done else ()
    return Item("it", parse_triggers(list(rules), "it"), done=completions, **more)


def stands(item, as_of=AS_OF, events=()):
    rig = Rig({}, (item,), events=tuple(events))
    return reckon(rig, calendar=Calendar(), as_of=as_of).items[0]


@pytest.mark.parametrize(
    ("rules", "by"),
    [({"unfit": True}, "overdue"), ({"safety": True}, ""), ({"paper": True}, "")],
)
def test_overdue_then_unfit_where_the_item_says_so(rules, by):
    found = stands(of(YEARLY, done=date(2025, 5, 3), **rules))

    assert (found.standing, found.unfit_by) == ("overdue", by)
    assert found.not_legal == ("paper" in rules)


def test_not_overdue_yet_then_fit():
    assert not stands(of(YEARLY, done=date(2025, 5, 4), unfit=True)).unfit_by


def test_collision_today_then_unfit_at_once():
    found = stands(of(CHECK, unfit_on_event=True), events=[Event("collision", AS_OF)])

    assert found.unfit_by == "event"


@pytest.mark.parametrize(
    ("outcome", "by"),
    [
        ("done", ""),
        ("serviceable", ""),
        ("fault_found", "event"),
        ("not_done", "event"),
    ],
)
def test_collision_judged_then_by_how_it_went(outcome, by):
    item = of(CHECK, done=AS_OF, outcome=outcome, unfit_on_event=True)

    assert stands(item, events=[Event("collision", AS_OF)]).unfit_by == by


def test_collision_long_ago_then_unfit_until_judged():
    event = Event("collision", AS_OF - 300 * DAY)

    assert stands(of(CHECK, unfit_on_event=True), events=[event]).unfit_by == "event"


def test_event_of_an_item_that_does_not_say_so_then_fit():
    assert not stands(of(CHECK), events=[Event("collision", AS_OF)]).unfit_by


@pytest.mark.parametrize(
    ("made", "by"),
    [
        # 49 CFR 574.5(b)(3): a code gives week and year; here by months
        ("2016-05", ""),  # ten years end with May 2026
        ("2016-04", "age"),
        ("2008-06", "age"),
        ("2016-05-04", ""),
        ("2016-05-03", "age"),
    ],
)
def test_tire_past_ten_years_then_unfit(made, by):
    """Ten years: the ceiling that several tire makers give, common practice."""
    item = of({"life": {"years": 6, "from": made}}, unfit_years=10)

    assert stands(item).unfit_by == by
    assert stands(item).standing == "overdue"


def test_life_longer_than_its_years_then_the_life_counts():
    item = of({"life": {"years": 12, "from": "2015-04-01"}}, unfit_years=10)

    assert not stands(item).unfit_by


def test_age_that_comes_then_looked_at_again_that_day():
    item = of({"life": {"years": 6, "from": "2016-06-01"}}, unfit_years=10)
    turns = stands(item).changes_on

    assert turns == date(2026, 6, 2)
    assert not stands(item, turns - DAY).unfit_by
    assert stands(item, turns).unfit_by == "age"
