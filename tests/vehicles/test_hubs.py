"""Towed distance by hand, and a hub meter as an act of its own that can be removed."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.core import facts
from maintenance.core.timeline import RigTimeline
from maintenance.households.refusals import Refused
from maintenance.vehicles import hubs, trips
from maintenance.vehicles.queries import rig_facts
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def wren(keeper):
    rig = builders.make_rig(
        keeper.household,
        name="Wren",
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
        in_service_on=date(2025, 5, 1),
    )
    trip(rig, date(2026, 3, 1), 200)
    return rig


def trip(rig, end, distance):
    rig.trips.create(start=end, end=end, distance=distance, unit="mi", told_on=end)


def towed(rig):
    known = rig_facts([rig], TODAY)[rig.pk].without_items()
    track = RigTimeline(known, facts.Calendar(), TODAY).tracks["towed"]
    return track.shown_last


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def give(browser, rig, value, on="2026-05-02"):
    given = {"meter": rig.meters.get().pk, "on": on, "value": value}
    return browser.post(reverse("give_reading", args=[rig.pk]), given)


def test_trailer_without_a_meter_then_the_miles_since_are_asked_and_added(
    browser, wren
):
    page = browser.get(reverse("give_reading", args=[wren.pk])).text
    assert "Distance towed since Mar 1, 2026 (mi)" in page

    give(browser, wren, "60")
    give(browser, wren, "40", on="2026-05-03")

    assert not wren.meters.get().readings.exists()
    assert towed(wren) == 300


def test_miles_by_hand_on_a_trip_then_its_closing_takes_their_place(
    keeper, browser, wren
):
    """60 and 40 on the way make 100 so far; closed out with 130, it is 130."""
    going = wren.trips.create(
        start=date(2026, 5, 1), end=date(2026, 5, 8), distance=500, unit="mi"
    )
    give(browser, wren, "60")
    give(browser, wren, "40", on="2026-05-03")
    assert towed(wren) == 300

    trips.tell_trip(going, by=keeper, today=TODAY, end=TODAY, distance=Decimal(130))

    assert towed(wren) == 330


def test_miles_by_hand_on_the_day_a_trip_was_closed_out_then_refused_in_words(
    browser, wren
):
    page = give(browser, wren, "60", on="2026-03-01")

    assert "was closed out for that day. Correct its distance instead." in page.text


@pytest.mark.parametrize("value", ["0", "99999999"])
def test_distance_that_cannot_be_then_refused(keeper, wren, value):
    with pytest.raises(Refused, match="can't be"):
        hubs.add_towed(
            wren.meters.get(), by=keeper, today=TODAY, on=TODAY, distance=Decimal(value)
        )


def test_hub_meter_fitted_then_its_readings_rule_and_removed_then_all_stays(
    browser, wren
):
    url = reverse("fit_hub_meter", args=[wren.pk])
    browser.post(url, {"on": "2026-04-01", "value": "5000"})
    give(browser, wren, "5120")
    assert towed(wren) == 5120

    browser.post(reverse("no_hub_meter", args=[wren.pk]))

    assert wren.meters.get().hub_confirmed_on is None
    assert not wren.meters.get().readings.filter(withdrawn=False).exists()
    assert towed(wren) == 320


def test_it_has_none_then_sums_typed_as_readings_are_miles_towed(browser, wren):
    """200 were closed out; the sums say 260, then 310 with a trip of 50 between."""
    builders.make_reading(wren, date(2026, 4, 1), 260, kind="towed")
    trip(wren, date(2026, 4, 10), 50)
    builders.make_reading(wren, date(2026, 4, 11), 310, kind="towed")
    assert "No, it doesn't" in browser.get(reverse("rig", args=[wren.pk])).text

    browser.post(reverse("no_hub_meter", args=[wren.pk]))

    assert towed(wren) == 310
    assert wren.trips.count() == 3
