"""A stay that was to end and did not is asked about, once."""

from datetime import timedelta

import pytest

from maintenance.plans.day_change import renew_behind
from maintenance.reminders.models import Digest, DigestState
from maintenance.reminders.services import make_digests, raise_everywhere, send_waiting
from tests.builders import TODAY, make_item
from tests.reminders.builders import entered, make_home, noon, overdue_item

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def stay(clock):
    clock("2026-05-01 12:00", "America/Denver")
    _member, rig = make_home()
    make_item(rig, "trap", triggers=[{"while_stored": {"days": 400}}])
    return rig.stays.create(start=TODAY - 90 * DAY, planned_until=TODAY)


def days(first: int, last: int) -> list[Digest]:
    for n in range(first, last + 1):
        now = noon(TODAY + n * DAY)
        renew_behind(now)
        raise_everywhere(now)
        make_digests(now)
        send_waiting(now)
    return list(Digest.objects.order_by("day"))


def test_stay_when_its_planned_end_passes_then_asked_on_the_day_after_and_once(stay):
    assert days(-3, 0) == []

    [digest] = days(1, 60)

    assert (digest.day, digest.state) == (TODAY + DAY, DigestState.IN_TRAY)
    assert digest.subject == "Is Juniper still in storage?"
    text = " ".join(digest.text.split())
    assert "was due out May 4, 2026. Is it still parked?" in text
    assert "Is it still parked?" in digest.html


def test_stay_when_other_things_are_told_then_the_question_goes_with_them(stay):
    overdue_item(stay.rig)

    digest = days(1, 1)[0]

    assert digest.subject == "Overdue on Juniper: Overdue"
    assert "Is it still parked?" in digest.text.replace("\n", " ")


def test_stay_when_planned_anew_then_that_end_is_asked_about_in_its_turn(stay):
    days(-3, 5)
    stay.planned_until = TODAY + 20 * DAY
    stay.save()
    entered(stay.rig.household)

    asked = days(6, 30)

    assert [digest.day for digest in asked] == [TODAY + DAY, TODAY + 21 * DAY]


def test_stay_when_it_ended_before_the_mail_goes_out_then_nothing_is_asked(stay):
    now = noon(TODAY + DAY)
    raise_everywhere(now)
    make_digests(now)
    stay.ended_on = TODAY
    stay.save()

    send_waiting(now)

    assert Digest.objects.get().state == DigestState.EMPTY
