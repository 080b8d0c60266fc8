"""A person who thinks in the other unit finds the meter's figure and their own."""

from datetime import UTC, datetime, timedelta

import pytest

from maintenance.households.models import Member
from maintenance.reminders.calendar_feed import publish
from maintenance.reminders.content import write
from maintenance.reminders.models import Notice
from maintenance.reminders.services import keep_calendar, raise_notices
from tests.builders import TODAY, make_reading
from tests.reminders.builders import make_home, renewed, take_on, wheel_off

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = datetime(2026, 5, 5, 15, tzinfo=UTC)


@pytest.fixture
def member():
    """A wheel was off at 42,000 mi: checked by 42,100, which are 67,753.38 km by
    the exact mile of 1.609344 km (international yard and pound agreement, 1959)."""
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    make_reading(rig, TODAY + DAY, 42060)
    renewed(member.household)
    return member


def mailed(member: Member) -> str:
    raise_notices(member.household, today=TODAY + DAY)
    return write(member, Notice.objects.all(), today=TODAY + DAY).text


def test_write_when_units_are_the_meters_then_its_figure_alone(member):
    assert "42,100 mi" in mailed(member)
    assert "km" not in mailed(member)


def test_write_when_a_person_reads_kilometers_then_both(member):
    Member.objects.update(distance_unit="km")
    member.refresh_from_db()

    assert "42,100 mi (67,753 km)" in mailed(member)


def test_write_when_the_household_reads_kilometers_then_a_member_does(member):
    member.household.distance_unit = "km"
    member.household.save()

    assert "42,100 mi (67,753 km)" in mailed(member)


def test_publish_when_a_person_reads_kilometers_then_both(member):
    member.distance_unit = "km"
    member.save()
    feed = keep_calendar(member, now=NOW, shows="coming", alarm_days=None)

    text = publish(feed, now=NOW, today=TODAY + DAY).decode().replace("\r\n ", "")

    assert "42\\,100 mi (67\\,753 km)" in text


@pytest.mark.parametrize("unit", ["km", ""])
def test_myself_when_units_are_chosen_then_kept(client, member, unit):
    client.force_login(member.user)

    given = {"name": "Robin", "email": "robin@example.org", "wants_mail": "on"}
    given |= {"digest_hour": "7", "told_stages": ["due"], "distance_unit": unit}
    client.post("/household/myself/", given)

    member.refresh_from_db()
    assert (member.distance_unit, member.reads_in) == (unit, unit or "mi")
