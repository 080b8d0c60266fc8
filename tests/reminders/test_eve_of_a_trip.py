"""On the eve of a trip what makes a rig unfit is mailed once more to who may drive."""

from datetime import timedelta

import pytest

from maintenance.findings.services import accept_finding, close_finding, open_finding
from maintenance.reminders.models import Digest, DigestState, TripNotice
from maintenance.reminders.services import (
    make_digest,
    raise_everywhere,
    raise_notices,
    send_digest,
    tell_at_once,
)
from maintenance.vehicles.models import Trip
from maintenance.vehicles.trips import cancel_trip, change_trip, plan_trip
from tests.builders import TODAY, make_member, make_rig
from tests.reminders.builders import make_home, noon, overdue_item, renewed

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
CRACK = "Crack in the frame"


@pytest.fixture
def home(clock):
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    make_member(rig.household, "viewer", name="Vic")
    raise_notices(member.household, today=TODAY)
    return member, rig


def planned(member, rig, start, **fields) -> Trip:
    fields = {"title": "Lake", "distance": 200, "end": start + 3 * DAY} | fields
    return plan_trip(rig, by=member, today=TODAY, start=start, **fields)


def crack(member, rig):
    """Told at once on its own day; that mail has gone out."""
    found = open_finding(rig, by=member, on=TODAY, what=CRACK, unfit=True)
    raise_notices(rig.household, today=TODAY)
    Digest.objects.update(state=DigestState.SENT)
    return found


def eve_mails():
    return Digest.objects.filter(trip_notices__isnull=False).distinct()


def sent(mail, day):
    send_digest(mail, now=noon(day))
    mail.refresh_from_db()
    return mail


def test_eve_of_a_trip_when_unfit_then_who_may_drive_is_told_once(home):
    member, rig = home
    planned(member, rig, TODAY + 2 * DAY)
    crack(member, rig)
    assert not eve_mails()

    for _again in range(3):
        raise_notices(rig.household, today=TODAY + DAY)

    [mail] = eve_mails()
    assert mail.member == member
    sent(mail, TODAY + DAY)
    assert mail.subject == (
        "Before the trip on May 6, 2026: Juniper unfit to travel: Crack in the frame"
    )
    for part in (mail.text, mail.html):
        assert "Before you leave" in part
    assert "Juniper's trip to Lake starts tomorrow" in mail.text
    assert "Don't drive Juniper until this is fixed." in mail.text

    raise_notices(rig.household, today=TODAY + 2 * DAY)
    assert TripNotice.objects.count() == 1


def test_household_is_looked_at_on_the_eve_though_nothing_happens(home):
    member, rig = home
    planned(member, rig, TODAY + 5 * DAY)
    crack(member, rig)
    raise_everywhere(noon(TODAY))

    rig.household.refresh_from_db()
    assert rig.household.next_notice_on <= TODAY + 4 * DAY
    raise_everywhere(noon(TODAY + 4 * DAY))
    assert eve_mails().count() == 1


def test_eve_when_all_is_fit_then_nobody_is_told(home):
    member, rig = home
    planned(member, rig, TODAY + DAY)

    raise_notices(rig.household, today=TODAY)

    assert not TripNotice.objects.exists()


def test_item_overdue_that_makes_unfit_stands_in_the_mail_of_the_eve(home):
    member, rig = home
    item = overdue_item(rig, safety=True, unfit=True)
    renewed(rig.household)
    raise_notices(rig.household, today=TODAY)
    Digest.objects.update(state=DigestState.SENT)
    planned(member, rig, TODAY + DAY)

    tell_at_once(rig.household, today=TODAY)

    [mail] = eve_mails()
    sent(mail, TODAY)
    assert item.title in mail.text
    assert mail.subject.startswith("Before the trip on May 5, 2026: Juniper unfit")


def test_tow_vehicle_that_is_unfit_counts_for_the_trip_of_its_trailer(home):
    member, rig = home
    trailer = make_rig(rig.household, name="Wren", kind="travel_trailer", meter=None)
    planned(member, trailer, TODAY + DAY, tow_vehicle=rig)
    crack(member, rig)

    raise_notices(rig.household, today=TODAY)

    assert TripNotice.objects.get().trip.rig == trailer


def test_other_rig_that_is_unfit_is_no_matter_of_the_trip(home):
    member, rig = home
    other = make_rig(rig.household, name="Kestrel")
    planned(member, other, TODAY + DAY)
    crack(member, rig)

    raise_notices(rig.household, today=TODAY)

    assert not TripNotice.objects.exists()


def test_fixed_before_the_mail_goes_out_then_none_goes(home):
    member, rig = home
    planned(member, rig, TODAY + DAY)
    found = open_finding(rig, by=member, on=TODAY, what=CRACK, unfit=True)
    raise_notices(rig.household, today=TODAY)
    [mail] = eve_mails()

    close_finding(found, by=member)
    sent(mail, TODAY)

    assert mail.state == DigestState.EMPTY
    assert not TripNotice.objects.exists()


@pytest.mark.parametrize("what", ["canceled", "moved"])
def test_trip_that_does_not_start_is_not_told_of(home, what):
    member, rig = home
    trip = planned(member, rig, TODAY + DAY)
    crack(member, rig)
    Digest.objects.filter(trip_notices__isnull=False).update(state=DigestState.QUEUED)
    [mail] = eve_mails()

    if what == "canceled":
        cancel_trip(trip, by=member, today=TODAY)
    else:
        start, end = TODAY + 5 * DAY, TODAY + 8 * DAY
        change_trip(trip, by=member, today=TODAY, start=start, end=end)
    Digest.objects.filter(pk=mail.pk).update(state=DigestState.QUEUED)
    mail.refresh_from_db()
    sent(mail, TODAY)

    assert "starts tomorrow" not in mail.text
    assert not TripNotice.objects.filter(start=TODAY + DAY).exists()


def test_mail_that_no_server_took_is_folded_into_the_next_digest(home):
    member, rig = home
    planned(member, rig, TODAY + 2 * DAY)
    crack(member, rig)
    raise_notices(rig.household, today=TODAY + DAY)

    digest = make_digest(member, day=TODAY + 2 * DAY, now=noon(TODAY + 2 * DAY))

    assert digest is not None
    sent(digest, TODAY + 2 * DAY)
    assert "Juniper's trip to Lake starts today" in digest.text


def test_left_as_it_is_then_the_rig_is_fit_and_nobody_is_told(home):
    member, rig = home
    planned(member, rig, TODAY + DAY)
    found = open_finding(rig, by=member, on=TODAY, what=CRACK, unfit=True)
    accept_finding(found, by=member, why="Only paint")

    raise_notices(rig.household, today=TODAY)

    assert not TripNotice.objects.exists()
