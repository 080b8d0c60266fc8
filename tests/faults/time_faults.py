"""Faults of time: what is done to the clock, and what must have come of it."""

from datetime import datetime, timedelta
from unittest.mock import patch

import time_machine
from django.utils import timezone

from maintenance.core.clock import Look
from maintenance.households.models import Household, Member
from maintenance.plans.day_change import renew_behind
from maintenance.plans.models import Standing
from maintenance.plans.standings import recheck, renew_household
from maintenance.reminders import machine_clock, tasks
from maintenance.reminders.models import Digest, MachineClock, Notice
from maintenance.reminders.services import confirm_clock, raise_everywhere
from tests import builders
from tests.faults.house import House
from tests.faults.table import job_fault

DAY = timedelta(days=1)


def one_home() -> Member:
    """Somebody with one item that is overdue and one that comes due in a year."""
    Household.objects.all().delete()
    MachineClock.objects.all().delete()
    member = builders.make_member(email="robin@example.org", digest_hour=0)
    rig = builders.make_rig(member.household)
    today = member.household.today(timezone.now())
    for key, base in (("over", today - 400 * DAY), ("ahead", today - 30 * DAY)):
        builders.make_item(rig, key, baseline="stated", baseline_on=base, taken_on=base)
    renew_household(member.household, as_of=today)
    tasks.send_digests()  # the clock is looked at
    return member


def _beat(now: datetime) -> None:
    """What the schedule runs, with the wall clock at `now` and the machine's own
    counting as it is."""
    with time_machine.travel(now, tick=False):
        renew_behind(timezone.now())
        raise_everywhere(timezone.now())
        tasks.send_digests()


def _stands(key: str) -> str:
    return Standing.objects.get(item__key=key).standing


@job_fault("clock 400 days ahead, and back")
def clock_ahead(house: House) -> str:
    member = one_home()
    now = timezone.now()
    _beat(now + 400 * DAY)
    assert _stands("ahead") == "overdue"
    assert not Digest.objects.exists(), "daily mail went out by a wrong date"

    _beat(now)

    assert _stands("ahead") == "later", _stands("ahead")
    household = Household.objects.get()
    assert recheck(household, as_of=household.today(now)) == []
    assert Digest.objects.filter(member=member).count() == 1
    told = {row.item.key for row in Notice.objects.exclude(digest=None)}
    assert told == {"over"}, told
    return "daily mail waited; then standings and notices are today's, and it went out"


@job_fault("clock ahead, the date confirmed")
def clock_ahead_and_confirmed(house: House) -> str:
    one_home()
    later = timezone.now() + 40 * DAY
    _beat(later)
    assert not Digest.objects.exists()
    with time_machine.travel(later, tick=False):
        confirm_clock(timezone.now())

    _beat(later)

    assert Digest.objects.count() == 1
    return "daily mail went out after that, once"


@job_fault("clock 300 days back, and right again")
def clock_back(house: House) -> str:
    one_home()
    _beat(timezone.now() - 300 * DAY)
    assert not Digest.objects.exists()

    _beat(timezone.now())

    assert Digest.objects.count() == 1
    return "daily mail waited, then went out"


@job_fault("two weeks asleep")
def two_weeks_asleep(house: House) -> str:
    one_home()
    slept = timezone.now() + 14 * DAY
    real = machine_clock.look

    def counted(at: datetime) -> Look:
        told = real(at)
        return Look(at, told.boot, told.up + 14 * DAY.total_seconds())

    with patch.object(machine_clock, "look", counted):
        _beat(slept)

    assert Digest.objects.count() == 1
    return "no jump: one mail says all"


@job_fault("zone moved east, then west")
def zone_moved(house: House) -> str:
    one_home()
    now = timezone.now()
    _beat(now)
    Household.objects.update(timezone="Pacific/Kiritimati")
    _beat(now)
    Household.objects.update(timezone="Pacific/Pago_Pago")
    _beat(now)
    _beat(now + timedelta(hours=20))

    days = list(Digest.objects.values_list("day", flat=True))
    assert len(days) == len(set(days)), days
    told = Notice.objects.filter(item__key="over")
    assert told.count() == 1, list(told)
    home = Household.objects.get()
    assert recheck(home, as_of=home.reckoned_on or home.today(now)) == []
    return "no day has two mails, nothing is told twice"
