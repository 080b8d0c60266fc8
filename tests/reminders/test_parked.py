"""A rig that only stands: asked once, on Due and by mail; one tap makes the stay."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from maintenance.plans.models import Standing
from maintenance.plans.services import take_on as take_on_plan
from maintenance.reminders.answer_links import AnswerLink
from maintenance.reminders.models import StayQuestion
from maintenance.reminders.services import make_digest, raise_notices, send_digest
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Stay, Trip
from maintenance.vehicles.parked import parked_rigs
from tests.builders import TODAY, make_member, make_reading, make_rig

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
HOST = "https://rigs.example.org"
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


@pytest.mark.parametrize("part", ["tow_vehicle", "towed_car"])
def test_trip_ahead_on_which_it_tows_or_is_towed_then_the_stay_ends_with_it(
    rig, keeper, browser, part
):
    other = make_rig(keeper.household, name="Other")
    start = TODAY + 9 * DAY
    other.trips.create(start=start, end=start, distance=9, unit="mi", **{part: rig})

    answer(browser, rig, "yes")

    assert Stay.objects.get(rig=rig).planned_until == start


# --- answered by the link of the mail -------------------------------------------------


@pytest.fixture
def link(rig, keeper, settings):
    """As the mail carries it, below our own host."""
    settings.PUBLIC_URL = HOST
    raise_notices(keeper.household, today=TODAY)
    digest = make_digest(keeper, day=TODAY)
    send_digest(digest)
    digest.refresh_from_db()
    [found] = set(re.findall(rf"{HOST}(/answer/parked/\S+)", digest.text))
    assert f'href="{HOST}{found}"' in digest.html
    return found


def test_link_opened_then_both_answers_and_nothing_changed(link, rig):
    page = Client().get(link).text

    assert f"Yes, parked since {day_words(LAST)}" in page
    assert "No, it&#x27;s in use" in page or "No, it's in use" in page
    assert not Stay.objects.exists()


def test_yes_by_link_then_the_stay_is_dated_back_once(link, rig):
    outside = Client(enforce_csrf_checks=True)

    said = outside.post(link, {"parked": "yes"}, follow=True)
    again = outside.post(link, {"parked": "yes"})

    stay = Stay.objects.get()
    assert (stay.rig, stay.start, stay.ended_on) == (rig, LAST, None)
    assert f"Bramble has been in storage since {day_words(LAST)}." in said.text
    assert again.status_code == 410


def test_no_by_link_then_silent_for_a_month(link, rig, keeper):
    said = Client().post(link, {"parked": "no"}, follow=True).text

    assert "asked for a month" in said
    assert parked_rigs(keeper.household, TODAY + 29 * DAY) == []


@pytest.mark.parametrize("data", [{}, {"parked": "maybe"}])
def test_link_sent_without_an_answer_then_asked_again(link, data):
    answer = Client().post(link, data)

    assert answer.status_code == 200
    assert not Stay.objects.exists()


def test_rig_driven_since_the_mail_then_the_link_says_so(link, rig):
    make_reading(rig, TODAY, 42400)

    page = Client().post(link, {"parked": "yes"})

    assert page.status_code == 410
    assert "asked about anymore" in page.text
    assert not Stay.objects.exists()


def test_link_of_a_question_to_somebody_else_leads_nowhere(link, rig, keeper):
    other = make_member(keeper.household)
    question = StayQuestion.objects.get()
    forged = AnswerLink("parked", 1, other.pk, question.pk, TODAY + DAY)

    assert Client().get(forged.url.removeprefix(HOST)).status_code == 410


def test_without_a_public_address_the_mail_answers_in_words(rig, keeper):
    raise_notices(keeper.household, today=TODAY)
    digest = make_digest(keeper, day=TODAY)
    send_digest(digest)
    digest.refresh_from_db()

    assert "Answer on Due: one tap" in " ".join(digest.text.split())
    assert "/answer/" not in digest.text


def test_viewer_gets_no_link(rig, keeper, settings):
    settings.PUBLIC_URL = HOST
    viewer = make_member(keeper.household, "viewer")
    raise_notices(keeper.household, today=TODAY)
    digest = make_digest(viewer, day=TODAY)
    send_digest(digest)
    digest.refresh_from_db()

    assert "Is it parked?" in digest.text
    assert "/answer/" not in digest.text
