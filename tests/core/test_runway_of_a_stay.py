"""What a stay's runway does to a rule that counts while a rig is stored."""

from datetime import date, timedelta

import pytest

from maintenance.core.facts import Calendar, Completion, Item, Rig, Runway, Stay
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.while_stored import WhileStored as Rule

START = date(2026, 11, 1)
DAY = timedelta(days=1)


def stand(runway, *, on, done=()):
    item = Item("traps", (Rule(30, runway=runway),), done=done)
    rig = Rig({}, (item,), stays=(Stay(START),))
    return reckon(rig, calendar=Calendar(), as_of=START + on * DAY).items[0]


def closes_after(runway, **more):
    return (stand(runway, on=25, **more).window.closes - START).days


@pytest.mark.parametrize(
    ("runway", "days"),
    [
        (None, 30),
        (Runway(20), 20),
        (Runway(45), 30),  # it never gives more time than the rule
        (Runway(0), 1),
        (Runway(22, START + 15 * DAY, 9), 24),  # the reading takes the estimate's place
        (Runway(10, START + 15 * DAY, 14), 29),  # also where it is better than that
        (Runway(22, START + 15 * DAY, 0), 15),
        (Runway(22, START, 26), 26),
    ],
)
def test_it_closes_by_the_runway_where_that_is_sooner(runway, days):
    assert closes_after(runway) == days


def test_work_after_the_reading_is_counted_from_that_work():
    done = (Completion(START + 18 * DAY),)

    assert closes_after(Runway(20, START + 15 * DAY, 3), done=done) == 38


def test_what_was_read_on_the_day_of_the_work_counts():
    done = (Completion(START + 15 * DAY, outcome="serviceable"),)

    assert closes_after(Runway(20, START + 15 * DAY, 3), done=done) == 18


def test_why_says_which_of_the_two_it_rests_on():
    def keys(runway):
        return [fact.key for fact in stand(runway, on=5).why]

    assert "runway_expected" in keys(Runway(20))
    assert "runway_read" in keys(Runway(20, START + 5 * DAY, 3))
    assert not {"runway_expected", "runway_read"} & set(keys(Runway(45)))
