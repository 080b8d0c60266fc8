"""What a history says is open, and what is up to date."""

from datetime import date

import pytest

from maintenance.findings.models import Finding
from maintenance.library.reading import load_library
from maintenance.plans.models import BaselineKind, Completion
from maintenance.plans.services import defer
from maintenance.plans.standings import renew_household
from maintenance.vehicles.models import Event
from tests.builders import TODAY, make_item, make_member, make_reading, make_rig
from tests.packets.reading import history_of

pytestmark = pytest.mark.django_db

LUG = [
    {
        "after": {
            "event": "wheel_off",
            "distance": [50, 100],
            "unit": "mi",
            "meter": "odometer",
        }
    }
]


def standings_of(rig):
    renew_household(rig.household, as_of=TODAY)
    return history_of(rig).standings


def test_overdue_work_is_open_with_its_day_its_rule_and_when_last_done():
    rig = make_rig()
    item = make_item(rig, title="Engine oil")
    Completion.objects.create(item=item, on=date(2025, 3, 1), outcome="done")

    (row,) = standings_of(rig).open

    assert (row.standing, row.word, row.what) == ("overdue", "Overdue", "Engine oil")
    assert row.when == "was due by Mar 1, 2026"
    assert row.last == "Mar 1, 2025"
    assert row.rule == "Every year"


def test_work_done_in_time_is_up_to_date():
    rig = make_rig()
    item = make_item(rig)
    Completion.objects.create(
        item=item, on=date(2026, 4, 1), outcome="done", values={"odometer": "42000"}
    )

    found = standings_of(rig)

    assert (found.open, found.nothing_open) == ((), True)
    assert found.ahead[0].last == "Apr 1, 2026, 42,000\xa0mi"


def test_follow_up_names_its_wheels_and_makes_unfit():
    rig = make_rig()
    make_reading(rig, date(2026, 4, 1), 42_000)
    make_item(rig, "lug", title="Lug nuts", triggers=LUG, safety=True, unfit=True)
    Event.objects.create(
        rig=rig,
        kind="wheel_off",
        on=date(2026, 4, 1),
        values={"odometer": "42000"},
        places=["LF", "RF"],
    )
    make_reading(rig, date(2026, 5, 1), 42_150)

    found = standings_of(rig)

    assert found.open[0].what == "Lug nuts, left front and right front"
    assert found.open[0].safety
    assert found.unfit == (
        "Lug nuts, left front and right front. It was due by 42,100 mi.",
    )


def test_fault_is_open_and_an_accepted_one_is_told_with_its_reason():
    rig = make_rig()
    day = date(2026, 4, 2)
    Finding.objects.create(rig=rig, what="Hitch cracked", unfit=True, found_on=day)
    Finding.objects.create(
        rig=rig, what="Trim", state="accepted", why_accepted="looks only", found_on=day
    )

    found = standings_of(rig)

    assert [(row.what, row.when) for row in found.open] == [
        ("Hitch cracked", "found Apr 2, 2026")
    ]
    assert found.unfit == ("Hitch cracked",)
    assert found.accepted == (("Trim", "looks only"),)


def test_work_put_off_says_until_when_and_why():
    rig = make_rig()
    item = make_item(rig)
    Completion.objects.create(item=item, on=date(2025, 5, 1), outcome="done")
    renew_household(rig.household, as_of=TODAY)
    crew = make_member(rig.household, "crew")
    until = date(2026, 5, 20)
    defer(item, by=crew, today=TODAY, why="part is on its way", until=until)

    (row,) = standings_of(rig).open

    assert (
        row.deferred == f"Put off until May 20, 2026 by {crew.name}: part is on its way"
    )


def test_what_has_no_room_on_the_cover_follows_in_the_same_order():
    rig = make_rig()
    for n in range(12):
        make_item(rig, f"item_{n}", title=f"Item {n}")

    found = standings_of(rig)

    assert [row.what for row in found.rest] == [f"Item {n}" for n in range(7, 12)]
    assert (*found.first, *found.rest) == found.open


def test_work_that_waits_for_what_never_came_is_only_counted():
    rig = make_rig()
    done = make_item(rig, "lug", triggers=LUG)
    make_item(rig, "hail", triggers=[{"after": {"event": "hail", "days": [0, 3]}}])
    Completion.objects.create(item=done, on=date(2025, 4, 1), outcome="held")

    found = standings_of(rig)

    assert [row.what for row in found.ahead] == [done.title]
    assert found.left_out == (
        "Not listed: 1 waiting job, whose cause hasn't happened yet."
    )


def test_work_by_two_rules_names_both():
    rig = make_rig()
    every = {"distance": 5000, "unit": "mi", "meter": "odometer"}
    make_item(rig, triggers=[{"every": every}, {"every": {"months": 6}}])
    Completion.objects.create(
        item=rig.plan_items.get(),
        on=date(2026, 4, 1),
        values={"odometer": "42000"},
        outcome="done",
    )

    (row,) = standings_of(rig).ahead

    assert row.rule == "Every 5,000 mi; every 6 months"


@pytest.mark.parametrize(
    ("fields", "last"),
    [
        ({}, "no record"),
        ({"baseline": BaselineKind.IN_SERVICE}, "none yet, counted from new"),
        (
            {"baseline": BaselineKind.STATED, "baseline_on": date(2026, 1, 2)},
            "Jan 2, 2026, entered without a record",
        ),
    ],
)
def test_work_without_a_record_says_what_it_counts_from(fields, last):
    rig = make_rig()
    make_item(rig, **fields)

    found = standings_of(rig)

    assert [row.last for row in found.open + found.ahead] == [last]


def test_sold_rig_says_so_and_nothing_is_open():
    rig = make_rig(sold_on=date(2026, 3, 1))
    make_item(rig)

    found = standings_of(rig)

    assert found.silent.startswith("Sold on Mar 1, 2026.")
    assert (found.open, found.nothing_open) == ((), False)


def test_look_for_recalls_stands_there_with_its_day():
    """Nothing was open: that is what a buyer asks for, and when."""
    rig = make_rig()
    rule = load_library().procedures["recall_check"].triggers
    item = make_item(
        rig, "recall_check", title="Look for recalls by VIN", triggers=rule
    )
    Completion.objects.create(item=item, on=date(2026, 3, 1), outcome="serviceable")

    found = standings_of(rig)

    (row,) = found.ahead
    assert (row.what, row.last) == ("Look for recalls by VIN", "Mar 1, 2026")
