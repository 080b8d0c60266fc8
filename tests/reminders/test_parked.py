"""A rig that only stands: asked once, on Due and by mail; one tap makes the stay."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from maintenance.plans.models import Standing
from maintenance.plans.services import take_on as take_on_plan
from maintenance.reminders.models import StayQuestion
from maintenance.reminders.services import make_digest, raise_notices, send_digest
from maintenance.vehicles.models import Stay, Trip
from maintenance.vehicles.parked import parked_rigs
from tests.builders import TODAY, make_member, make_reading, make_rig

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
LAST = date(2026, 4, 24)  # ten days before today


@pytest.fixture
def keeper(clock):
    clock("2026-05-04 09:00", "America/Denver")
    return make_member()


@pytest.fixture
def rig(keeper):
    rig = make_rig(keeper.household, name="Bramble")
    make_reading(rig, LAST, 42300)
    return rig


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def answer(browser, rig, said):
    return browser.post(reverse("park_rig", args=[rig.pk]), {"parked": said})


def asked(browser):
    return "Parked since then?" in browser.get(reverse("due")).text


def test_ten_days_of_silence_then_it_is_asked_and_nine_are_not_enough(rig, keeper):
    [one] = parked_rigs(keeper.household, TODAY)

    assert (one.rig, one.since) == (rig, LAST)
    assert parked_rigs(keeper.household, TODAY - DAY) == []


def test_trip_or_stay_or_reading_since_then_it_is_not_asked(rig, keeper, browser):
    assert asked(browser)
    other = make_rig(keeper.household, name="Trailer", meter=None)
    trip = Trip.objects.create(
        rig=other, tow_vehicle=rig, start=LAST + DAY, end=LAST + 2 * DAY,
        distance=90, unit="mi",
    )  # fmt: skip
    assert not asked(browser)
    trip.delete()
    stay = Stay.objects.create(rig=rig, start=LAST + DAY)
    assert not asked(browser)
    stay.delete()
    make_reading(rig, LAST + DAY, 42310)
    assert not asked(browser)


def test_one_tap_then_the_stay_is_dated_back_and_its_work_comes_on(
    rig, keeper, browser
):
    keys = ["chassis_battery_off", "watch_visit"]
    take_on_plan(rig, by=keeper, today=LAST, keys=keys)

    page = answer(browser, rig, "yes")

    stay = Stay.objects.get()
    assert (stay.rig, stay.start, stay.ended_on) == (rig, LAST, None)
    assert page.url == reverse("stay", args=[stay.pk])
    assert not asked(browser)
    governing = Standing.objects.filter(item__rig=rig).values_list(
        "governing", flat=True
    )
    assert {"storage_entry", "while_stored"} <= set(governing)


def test_no_then_it_is_silent_for_a_month(rig, keeper, browser):
    answer(browser, rig, "no")

    assert not asked(browser)
    assert parked_rigs(keeper.household, TODAY + 29 * DAY) == []
    assert parked_rigs(keeper.household, TODAY + 30 * DAY)


def test_mail_asks_once(rig, keeper):
    for _ in range(2):
        raise_notices(keeper.household, today=TODAY)
    digest = make_digest(keeper, day=TODAY)

    assert StayQuestion.objects.get().digest == digest
    send_digest(digest)
    raise_notices(keeper.household, today=TODAY + DAY)
    assert make_digest(keeper, day=TODAY + DAY) is None


def test_household_is_looked_at_again_on_the_tenth_day(rig, keeper):
    raise_notices(keeper.household, today=TODAY - 3 * DAY)

    keeper.household.refresh_from_db()
    assert keeper.household.next_notice_on <= TODAY


def test_trip_ahead_then_the_stay_is_planned_until_it(rig, keeper, browser):
    rig.trips.create(start=TODAY + 9 * DAY, end=TODAY + 12 * DAY, distance=9, unit="mi")

    answer(browser, rig, "yes")

    assert Stay.objects.get().planned_until == TODAY + 9 * DAY
