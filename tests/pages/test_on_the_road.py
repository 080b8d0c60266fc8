"""On the road events and checks ask what the tow vehicle's odometer shows: a wheel that
was off on day 2 of a trip is checked on that trip."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.plans.services import take_on
from maintenance.vehicles.trips import plan_trip
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def mule(keeper):
    rig = builders.make_rig(keeper.household, name="Mule", kind="tow_vehicle")
    builders.make_reading(rig, date(2026, 5, 1), 80000)
    return rig


@pytest.fixture
def wren(keeper, mule):
    rig = builders.make_rig(
        keeper.household,
        name="Wren",
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
    )
    take_on(rig, by=keeper, today=date(2026, 5, 1), keys=["lug_recheck"])
    plan_trip(
        rig,
        by=keeper,
        today=TODAY,
        start=date(2026, 5, 3),
        end=date(2026, 5, 30),
        distance=Decimal(1800),
        unit="mi",
        tow_vehicle=mule,
    )
    return rig


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def wheel_off(browser, rig, shown):
    url = reverse("report_event", args=[rig.pk])
    given = {"kind": "wheel_off", "on": "2026-05-04", "meter_tow_odometer": shown}
    return browser.post(url, given)


def check(browser, rig, shown):
    url = reverse("record_work", args=[rig.pk])
    item = rig.plan_items.get()
    data = {
        "form_token": "11111111-2222-3333-4444-555555555555",
        "on": "2026-05-04",
        "done_by": "member",
        "doer": "Ada",
        "wheels-unit": "ft·lbf",
        "lines-TOTAL_FORMS": "1",
        "lines-INITIAL_FORMS": "0",
        "used-TOTAL_FORMS": "0",
        "used-INITIAL_FORMS": "0",
        "lines-0-item": item.pk,
        "lines-0-outcome": "held",
        "meter_tow_odometer": shown,
    }
    return browser.post(url, data, follow=True)


def test_both_forms_ask_for_the_odometer_of_the_tow_vehicle(browser, wren):
    for page in ("report_event", "record_work"):
        text = browser.get(reverse(page, args=[wren.pk])).text
        assert "Odometer of Mule now (mi)" in text


def test_rig_that_stands_then_no_tow_vehicle_is_asked_for(browser, mule):
    assert (
        "Odometer of" not in browser.get(reverse("report_event", args=[mule.pk])).text
    )


def test_wheel_off_on_the_road_then_a_check_20_miles_on_is_too_early(
    browser, mule, wren
):
    wheel_off(browser, wren, "80100")
    assert mule.meters.get().readings.filter(value=80100).exists()

    early = check(browser, wren, "80120").text
    assert "too early to count" in early


def test_check_far_enough_on_then_it_counts(browser, mule, wren):
    wheel_off(browser, wren, "80100")

    page = check(browser, wren, "80165").text

    assert "Not due anymore" in page
    assert "80,165" in page
    assert wren.plan_items.get().standing.standing == "waiting"


def test_forms_show_the_miles_towed_since_the_wheel_was_off(browser, mule, wren):
    wheel_off(browser, wren, "80100")
    builders.make_reading(mule, TODAY, 80140)

    for page in ("report_event", "record_work"):
        text = browser.get(reverse(page, args=[wren.pk])).text
        assert "40 mi towed since the wheel was off on May 4, 2026" in text
        assert "reading on May 4, 2026" in text


def test_wheel_off_without_a_figure_then_at_most_so_many_miles(browser, mule, wren):
    wheel_off(browser, wren, "")
    builders.make_reading(mule, TODAY, 80140)

    text = browser.get(reverse("record_work", args=[wren.pk])).text
    # Of 140 mi in three days 93.3 were gone by 3 May, the last evidence before it.
    assert "At most 47 mi towed since the wheel was off" in text


def test_figure_that_does_not_fit_the_tow_vehicle_then_asked(browser, wren):
    answer = wheel_off(browser, wren, "8010")

    assert "doesn&#x27;t fit" in answer.text
    assert not wren.events.exists()
