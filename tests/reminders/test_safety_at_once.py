"""What safety asks for is told as soon as it is recorded, in a mail of its own."""

from datetime import timedelta
from decimal import Decimal

import pytest

from maintenance.plans.models import Outcome
from maintenance.reminders.models import Digest, Notice
from maintenance.reminders.services import raise_notices, tell_at_once
from maintenance.vehicles.models import Event
from tests.builders import TODAY, make_member, make_reading
from tests.reminders.builders import (
    digest_for,
    done,
    make_home,
    overdue_item,
    renewed,
    stages,
    take_on,
    wheel_off,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def rig():
    """A rig with the lug re-check on its plan, in a household looked at yesterday."""
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    raise_notices(member.household, today=TODAY - DAY)
    return rig


def tell(rig, day=TODAY) -> int:
    renewed(rig.household, day)
    return tell_at_once(rig.household, today=day)


def test_wheel_off_when_recorded_then_one_mail_at_once_to_each_member(rig):
    make_member(rig.household, "crew")
    wheel_off(rig)

    tell(rig)

    assert [digest.key.split(":")[0] for digest in Digest.objects.all()] == [
        "safety",
        "safety",
    ]
    assert {digest.member.name for digest in Digest.objects.all()} >= {"Robin"}
    assert ("lug_recheck", "safety") in stages()
    assert not Notice.objects.filter(digest__isnull=True).exists()


def test_wheel_off_when_told_twice_then_one_mail(rig):
    wheel_off(rig)

    tell(rig)
    tell(rig)

    assert Digest.objects.count() == 1


def test_wheel_off_without_a_reading_when_recorded_then_told(rig):
    rig.meters.get().readings.all().delete()
    wheel_off(rig, value=None)

    assert tell(rig) == 1
    assert stages() == [("lug_recheck", "safety")]


def test_wheel_off_when_a_second_wheel_follows_then_told_again(rig):
    first = wheel_off(rig, places=["LF"])
    tell(rig)
    second = wheel_off(rig, places=["RR"])
    tell(rig)

    cycles = Notice.objects.filter(stage="safety").values_list("cycle", flat=True)
    assert sorted(cycles) == sorted([f"event:{first.pk}", f"event:{second.pk}"])


def test_wheel_off_when_the_same_wheel_comes_off_again_then_the_last_one_counts(rig):
    wheel_off(rig, TODAY - DAY, "41900", places=["LF"])
    second = wheel_off(rig, TODAY, "42000", places=["LF"])

    tell(rig)

    cycles = Notice.objects.filter(stage="safety").values_list("cycle", flat=True)
    assert list(cycles) == [f"event:{second.pk}"]


def test_wheel_off_when_an_earlier_one_still_waits_then_a_mail_at_once(rig):
    wheel_off(rig, places=["LF"])
    tell(rig)
    # Its mail was refused, and the address is mended since.
    Notice.objects.filter(stage="safety").update(digest=None)
    wheel_off(rig, places=["RR"])

    tell(rig)

    mail = Digest.objects.latest("pk")
    assert mail.notices.filter(stage="safety").count() == 2


def test_a_nut_that_moved_when_recorded_then_told_again(rig):
    item = rig.plan_items.get()
    wheel_off(rig)
    tell(rig)
    make_reading(rig, TODAY + DAY, 42060)
    moved = done(
        item,
        TODAY + DAY,
        outcome=Outcome.MOVED,
        values={"odometer": "42060"},
        places=["LF"],
    )

    tell(rig, TODAY + DAY)

    assert Notice.objects.filter(cycle=f"event:moved-{moved.pk}").exists()


def test_an_event_of_another_kind_when_recorded_then_nothing_is_told(rig):
    Event.objects.create(rig=rig, kind="hail", on=TODAY)

    assert tell(rig) == 0


def test_an_event_before_the_item_was_taken_on_while_its_window_is_open_then_told(rig):
    rig.plan_items.update(taken_on=TODAY)
    wheel_off(rig, TODAY - DAY)

    assert tell(rig) == 1


def test_an_event_whose_window_closed_before_the_item_was_taken_on_then_not_told(rig):
    rig.plan_items.update(taken_on=TODAY)
    event = wheel_off(rig, TODAY - 9 * DAY)
    passed = Decimal(str(event.values["odometer"])) + 500
    make_reading(rig, TODAY - DAY, passed)

    assert tell(rig) == 0


def test_overdue_without_safety_when_told_at_once_then_waits_for_the_digest(rig):
    overdue_item(rig)
    wheel_off(rig)

    tell(rig)

    assert ("overdue", "overdue") not in stages()


def test_safety_when_it_turns_due_with_the_day_then_a_mail_of_its_own(rig):
    overdue_item(rig, "smoke", safety=True)

    raise_notices(rig.household, today=TODAY)

    assert Digest.objects.get().key.startswith("safety:")


def test_new_household_when_a_wheel_was_off_then_told_at_once_and_not_again():
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    overdue_item(rig, "smoke", safety=True)

    tell(rig)

    told = Notice.objects.filter(digest__key__startswith="safety:")
    assert {notice.item.key for notice in told} == {"lug_recheck"}
    digest = digest_for(member)
    assert stages(digest.notices.all()) == [("smoke", "overdue")]


def test_a_dropped_safety_notice_when_its_reason_comes_back_then_a_new_mail(rig):
    wheel_off(rig)
    tell(rig)
    first = Digest.objects.get()
    first.notices.all().delete()  # as sending does with what was done meanwhile

    tell(rig)

    assert Digest.objects.exclude(pk=first.pk).count() == 1
