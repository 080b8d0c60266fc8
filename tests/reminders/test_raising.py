"""Notices: every reason to write once, to the right people, and no more."""

from datetime import timedelta

import pytest

from maintenance.households.models import Household
from maintenance.plans.models import Deferral
from maintenance.reminders.models import Notice, NoticeMark
from maintenance.reminders.services import raise_everywhere, raise_notices
from tests.builders import (
    TODAY,
    make_household,
    make_item,
    make_member,
)
from tests.reminders.builders import (
    done,
    due_item,
    make_home,
    noon,
    overdue_item,
    soon_item,
    stages,
    take_on,
    yearly,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def test_raise_notices_when_items_stand_differently_then_each_has_its_stage():
    member, rig = make_home()
    overdue_item(rig)
    due_item(rig)
    soon_item(rig)
    make_item(rig, "later", triggers=[{"every": {"months": 12}}], taken_on=TODAY)

    raise_notices(member.household, today=TODAY)

    assert stages() == [("due", "due"), ("overdue", "overdue"), ("soon", "heads_up")]


def test_raise_notices_when_shop_work_nears_then_it_says_to_book():
    member, rig = make_home(shop_wait_days=21)
    item = take_on(rig, "brake_fluid", triggers=[{"every": {"months": 12}}])
    closes = TODAY + 28 * DAY  # the wait and a week
    done(item, closes.replace(year=closes.year - 1))

    raise_notices(member.household, today=TODAY)

    assert stages() == [("brake_fluid", "book"), ("brake_fluid", "due")]


def test_raise_notices_when_called_twice_then_nothing_is_added():
    member, rig = make_home()
    overdue_item(rig)

    first = raise_notices(member.household, today=TODAY)
    second = raise_notices(member.household, today=TODAY)

    assert (first, second, Notice.objects.count()) == (1, 0, 1)


def test_raise_notices_when_overdue_goes_on_then_weekly():
    member, rig = make_home()
    overdue_item(rig)

    raised = [
        n for n in range(15) if raise_notices(member.household, today=TODAY + n * DAY)
    ]

    # Overdue since two days before TODAY; repeats count from there.
    assert raised == [0, 5, 12]


def test_raise_notices_when_the_standings_are_of_yesterday_then_they_are_renewed():
    member, rig = make_home()
    yearly(rig, "closes_today", TODAY)
    raise_notices(member.household, today=TODAY)

    raise_notices(member.household, today=TODAY + DAY)

    assert ("closes_today", "overdue") in stages()


@pytest.mark.parametrize(
    "change",
    [
        {"wants_mail": False},
        {"left_on": TODAY},
    ],
)
def test_raise_notices_when_a_member_left_or_wants_no_mail_then_nothing(change):
    member, rig = make_home()
    overdue_item(rig)
    type(member).objects.filter(pk=member.pk).update(**change)

    assert raise_notices(member.household, today=TODAY) == 0


def test_raise_notices_when_a_member_has_no_address_then_nothing():
    member, rig = make_home()
    overdue_item(rig)
    member.user.email = ""
    member.user.save()

    assert raise_notices(member.household, today=TODAY) == 0


def test_raise_notices_when_the_rig_is_sold_then_nothing():
    member, rig = make_home()
    overdue_item(rig)
    rig.sold_on = TODAY
    rig.save()

    assert raise_notices(member.household, today=TODAY) == 0


def test_raise_notices_when_the_item_is_off_the_plan_then_nothing():
    member, rig = make_home()
    overdue_item(rig, dropped_on=TODAY, why_dropped="not ours")

    assert raise_notices(member.household, today=TODAY) == 0


def test_raise_notices_when_there_are_two_members_then_each_is_told():
    member, rig = make_home()
    make_member(member.household, "viewer")
    make_member(make_household(name="Elsewhere"))
    overdue_item(rig)

    assert raise_notices(member.household, today=TODAY) == 2


def test_raise_notices_when_deferred_to_a_day_then_silent_until_it():
    member, rig = make_home()
    item = overdue_item(rig)
    Deferral.objects.create(item=item, until=TODAY + 5 * DAY, why="away")

    raised = [
        n for n in range(7) if raise_notices(member.household, today=TODAY + n * DAY)
    ]

    assert raised == [5]


@pytest.mark.parametrize(("until", "count"), [("41400.0", 1), ("43000.0", 0)])
def test_raise_notices_when_deferred_to_a_reading_then_until_the_meter_shows_it(
    until, count
):
    member, rig = make_home()
    item = overdue_item(
        rig,
        triggers=[
            {"every": {"distance": 5000, "unit": "mi", "meter": "odometer"}},
            {"every": {"months": 12}},
        ],
    )
    Deferral.objects.create(
        item=item, until_value=until, until_meter="odometer", why="next stop"
    )

    assert raise_notices(member.household, today=TODAY) == count


def test_raise_notices_when_items_are_ten_times_as_many_then_as_many_queries(
    django_assert_max_num_queries,
):
    counts = []
    for items in (3, 30):
        member, rig = make_home(name=f"Home {items}")
        for n in range(items):
            overdue_item(rig, f"overdue_{n}")
        raise_notices(member.household, today=TODAY - 30 * DAY)
        with django_assert_max_num_queries(43) as queries:
            assert raise_notices(member.household, today=TODAY) == items
        counts.append(len(queries))

    assert counts[0] == counts[1]


# --- everywhere -----------------------------------------------------------------------


def test_raise_everywhere_when_a_new_day_begins_then_once_for_that_day():
    _member, rig = make_home()
    overdue_item(rig)

    first = raise_everywhere(noon(TODAY))
    again = raise_everywhere(noon(TODAY))

    assert (first, again) == (1, 0)
    assert NoticeMark.objects.get().day == TODAY


def test_raise_everywhere_when_zones_differ_then_each_has_its_own_day():
    here, _rig = make_home()
    there = make_member(make_household(name="There", timezone="Pacific/Auckland"))
    now = noon(TODAY)  # in Denver; in Auckland the next day has begun

    raise_everywhere(now)

    days = {mark.household: mark.day for mark in NoticeMark.objects.all()}
    assert days == {here.household: TODAY, there.household: TODAY + DAY}


def test_raise_everywhere_when_somebody_did_something_then_looks_again():
    member, rig = make_home()
    now = noon(TODAY)
    raise_everywhere(now)
    item = overdue_item(rig)
    entry = member.household.activity.create(member=member, what="x", about="y")
    member.household.activity.filter(pk=entry.pk).update(at=now + timedelta(minutes=1))
    Household.objects.update(reckoned_on=None)  # as the service would have renewed

    assert raise_everywhere(now + timedelta(minutes=5)) == 1
    assert Notice.objects.get().item == item


def test_raise_everywhere_when_one_household_cannot_be_reckoned_then_others_are(
    caplog,
):
    broken, rig = make_home(name="Broken")
    hours = {"every": {"hours": 100, "meter": "engine"}}
    make_item(rig, triggers=[hours])  # the rig has no such meter
    _member, other = make_home(name="Well")
    overdue_item(other)

    assert raise_everywhere(noon(TODAY)) == 1
    assert f"household {broken.household_id} has wrong facts" in caplog.text
