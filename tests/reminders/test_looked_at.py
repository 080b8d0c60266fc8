"""Which households the jobs look at: those that a day or a deed touches, no others."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.households.activity import note_activity
from maintenance.households.models import Household
from maintenance.plans import day_change
from maintenance.plans.models import Deferral, Standing
from maintenance.plans.rows import row_of
from maintenance.plans.standings import recheck
from maintenance.plans.tasks import renew_standings
from maintenance.reminders import tasks
from maintenance.reminders.models import Notice
from maintenance.reminders.services import raise_everywhere, raise_for, to_look_at
from maintenance.vehicles.services import record_reading
from tests.builders import TODAY, make_household
from tests.reminders.builders import (
    entered,
    make_home,
    noon,
    overdue_item,
    renewed,
    stages,
    yearly,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def home(clock):
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    yearly(rig, "belts", TODAY + 100 * DAY)
    renewed(member.household)
    raise_everywhere(noon(TODAY))
    return member


def test_to_look_at_when_nothing_happens_then_only_on_the_day_that_it_comes(home):
    opens = TODAY + 70 * DAY  # a lead of 30 days; in view 30 days before
    looked = [
        day
        for n in range(1, 60)
        if to_look_at(noon(day := TODAY + n * DAY))
        and raise_for([home.household_id], noon(day))
    ]
    assert looked == [opens - 30 * DAY]


@pytest.mark.either_database
def test_raise_everywhere_for_months_then_as_if_all_were_looked_at_each_day(home):
    other, rig = make_home(name="Other")
    yearly(rig, "belts", TODAY + 100 * DAY)
    overdue_item(rig)
    overdue_item(home.household.rigs.get())
    entered(home.household)

    for n in range(130):
        now = noon(TODAY + n * DAY)
        day_change.renew_behind(now)
        raise_everywhere(now)
        entered(other.household)

    raised = raised_of(home.household)
    assert raised == raised_of(other.household)
    assert {stage for _item, stage, _cycle, _on in raised} >= {"heads_up", "due"}
    home.household.refresh_from_db()
    assert recheck(home.household, as_of=home.household.reckoned_on) == []


def raised_of(household: Household) -> list[tuple]:
    notices = Notice.objects.filter(member__household=household)
    return sorted(notices.values_list("item__key", "stage", "cycle", "raised_on"))


def test_to_look_at_when_somebody_did_something_then_until_somebody_looked(home):
    assert to_look_at(noon(TODAY)) == []
    note_activity(home, "did", "something")

    assert to_look_at(noon(TODAY)) == [home.household_id]
    later = noon(TODAY) + timedelta(hours=3)
    assert to_look_at(later) == [home.household_id]  # whoever had it died

    raise_for([home.household_id], later)
    assert to_look_at(later) == []


def test_to_look_at_when_the_clock_was_a_day_ahead_then_deeds_are_still_seen(home):
    raise_everywhere(noon(TODAY + DAY))
    note_activity(home, "did", "something")

    assert to_look_at(noon(TODAY)) == [home.household_id]


def test_tasks_when_many_households_are_behind_then_they_are_shared_out(
    broker, monkeypatch, clock
):
    from tests.reminders.test_jobs import waiting  # noqa: PLC0415

    clock("2026-05-04 12:00", "America/Denver")
    monkeypatch.setattr(day_change, "BATCH", 2)
    for n in range(5):
        make_household(name=f"Home {n}")

    renew_standings()
    assert waiting() == 2  # the first batch is done here
    assert Household.objects.filter(next_change_on=date.max).count() == 2

    tasks.raise_notices()
    assert waiting() == 4
    assert Household.objects.filter(next_notice_on=date.min).count() == 3


def test_deferral_by_a_meter_when_it_is_reached_then_the_notice_comes_back(home, clock):
    rig = home.household.rigs.get()
    item = overdue_item(rig)
    renewed(home.household)
    entered(home.household)
    raise_everywhere(noon(TODAY))
    Deferral.objects.create(
        item=item, until_value=41600, until_meter="odometer", why="parts", made_by=home
    )
    later = TODAY + 3 * DAY

    def told() -> list[str]:
        rows = Notice.objects.filter(item=item).order_by("pk")
        return list(rows.values_list("cycle", flat=True))

    before = told()
    raise_everywhere(noon(later))
    assert told() == before

    clock("2026-05-07 12:00", "America/Denver")
    record_reading(
        rig.meters.get(), by=home, today=later, on=later, value=Decimal(41600)
    )
    raise_everywhere(noon(later))

    assert told() == [*before, f"{before[0]}@{later}"]
    assert stages(Notice.objects.filter(item=item))[-1] == ("overdue", "overdue")


def test_row_of_when_reckoned_days_ago_then_its_days_are_counted_from_today(home):
    standing = Standing.objects.get(item__key="belts")

    assert "It comes due in 2 months." in row_of(standing, TODAY).why
    assert "It comes due in 60 days." in row_of(standing, TODAY + 10 * DAY).why
