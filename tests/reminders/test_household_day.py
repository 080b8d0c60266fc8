"""The household's day: clocks that change, zones that move, months of silence."""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from maintenance.households.models import Household
from maintenance.plans.day_change import renew_behind
from maintenance.reminders.models import Digest, DigestState, SweepMark
from maintenance.reminders.services import (
    make_digests,
    raise_everywhere,
    send_waiting,
    sweep,
)
from tests.builders import TODAY
from tests.reminders.builders import (
    entered,
    make_home,
    noon,
    overdue_item,
    stages,
    yearly,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def beat(now: datetime) -> None:
    """What the schedule runs every few minutes."""
    renew_behind(now)
    raise_everywhere(now)
    make_digests(now)
    send_waiting(now)


def half_hours(first: date, days: int, zone: str) -> Iterator[datetime]:
    """Every half hour of these local days, as moments in UTC."""
    start = datetime.combine(first, datetime.min.time(), ZoneInfo(zone))
    moment = start.astimezone(UTC)
    end = (start + days * DAY).astimezone(UTC)
    while moment < end:
        yield moment
        moment += timedelta(minutes=30)


# IANA time zone database: in Denver the clock skips 2:00 to 2:59 on 8 March 2026 and
# shows 1:00 to 1:59 twice on 1 November 2026.
@pytest.mark.parametrize(
    ("changes", "hour"),
    [
        (date(2026, 3, 8), 2),
        (date(2026, 3, 8), 7),
        (date(2026, 11, 1), 1),
        (date(2026, 11, 1), 0),
    ],
)
def test_beat_over_a_day_when_the_clock_changes_then_one_digest_each_day(changes, hour):
    member, rig = make_home()
    type(member).objects.update(digest_hour=hour)
    days = [changes - DAY, changes, changes + DAY]
    for day in days:
        yearly(rig, f"closed_{day}", day - DAY)  # overdue from this day on

    for moment in half_hours(changes - DAY, 3, "America/Denver"):
        beat(moment)

    sent = Digest.objects.order_by("day")
    assert [digest.day for digest in sent] == days
    assert {digest.state for digest in sent} == {DigestState.IN_TRAY}
    zone = member.household.zone
    assert {d.made_at.astimezone(zone).date() for d in sent} == set(days)


def test_beat_after_months_of_silence_then_one_mail_says_all():
    _member, rig = make_home()
    beat(noon(TODAY - 150 * DAY))
    Digest.objects.all().delete()
    for months in range(1, 5):
        overdue = TODAY - months * 30 * DAY
        yearly(rig, f"item_{months}", overdue, safety=months == 1)
    entered(rig.household)

    for minutes in range(0, 60, 5):
        beat(noon(TODAY) + timedelta(minutes=minutes))

    digest = Digest.objects.get()
    assert len(stages(digest.notices.all())) == 4
    assert digest.subject == "4 overdue: Juniper"


def test_beat_while_the_clock_jumps_a_day_and_back_then_no_day_has_two():
    _member, rig = make_home()
    overdue_item(rig)
    for day in (0, 1, 0, 1, 2):
        for hours in (0, 1):
            beat(noon(TODAY + day * DAY) + timedelta(hours=hours))

    days = Counter(Digest.objects.values_list("day", flat=True))
    assert set(days.values()) == {1}
    assert sum(len(stages(d.notices.all())) for d in Digest.objects.all()) == 1


def test_beat_when_the_zone_changes_then_no_day_has_two():
    _member, rig = make_home()
    overdue_item(rig)
    yearly(rig, "next", TODAY)  # overdue from tomorrow on
    beat(noon(TODAY))
    Household.objects.update(timezone="Pacific/Auckland")
    for hours in range(0, 48, 2):
        beat(noon(TODAY) + timedelta(hours=hours))

    days = Counter(Digest.objects.values_list("day", flat=True))
    assert set(days.values()) == {1}
    assert sorted(days) == [TODAY, TODAY + DAY]


def test_beat_in_zones_apart_then_each_at_its_own_hour():
    west, rig = make_home(name="West", timezone="Pacific/Honolulu")
    east, other = make_home(name="East", timezone="Pacific/Auckland")
    yearly(rig, "closes", TODAY)
    yearly(other, "closes", TODAY)

    for moment in half_hours(TODAY, 2, "UTC"):
        beat(moment)

    hours = {
        digest.member: digest.made_at.astimezone(digest.member.household.zone).hour
        for digest in Digest.objects.filter(day=TODAY + DAY)
    }
    assert hours == {west: 7, east: 7}


def test_sweep_when_nothing_waits_then_it_leaves_its_mark():
    assert sweep(noon(TODAY)) == 0
    assert sweep(noon(TODAY) + timedelta(minutes=2)) == 0

    mark = SweepMark.objects.get(name="sweep")
    assert mark.at == noon(TODAY) + timedelta(minutes=2)
