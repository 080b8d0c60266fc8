"""A car towed behind: its wheels and bearings count what it was towed as well, its
engine does not."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.core.facts import MeterPoint
from maintenance.plans.services import take_on
from maintenance.plans.standings import renew_household
from maintenance.vehicles.models import Event
from tests.builders import TODAY, make_household, make_member, make_reading, make_rig

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper(clock):
    clock("2026-05-04 09:00", "America/Denver")
    return make_member(make_household())


@pytest.fixture
def coach(keeper):
    rig = make_rig(keeper.household, name="Coach")
    make_reading(rig, date(2026, 4, 1), 60_000)
    return rig


@pytest.fixture
def car(keeper):
    rig = make_rig(keeper.household, name="Bug", kind="towed_car")
    make_reading(rig, date(2026, 4, 1), 26_000)
    take_on(rig, by=keeper, today=date(2026, 1, 2), keys=["lug_recheck", "engine_oil"])
    return rig


def towed(coach, car, *, counts=False, **fields):
    given = {"start": date(2026, 4, 20), "end": date(2026, 4, 28)} | fields
    given.setdefault("told_on", given["end"])
    return coach.trips.create(
        towed_car=car, towed_car_counts=counts, unit="mi", **given
    )


def standing_of(car, key):
    renew_household(car.household, as_of=TODAY)
    return car.plan_items.get(key=key).standing


def wheel_off(car):
    Event.objects.create(
        rig=car, kind="wheel_off", on=date(2026, 4, 10), values={"odometer": "26000"}
    )


def test_wheel_off_before_it_was_towed_then_the_check_counts_the_towed_miles(
    coach, car
):
    """Off at 26,000 on the odometer; 70 miles towed since make 26,070."""
    wheel_off(car)
    towed(coach, car, distance=Decimal(70))

    found = standing_of(car, "lug_recheck")

    assert found.standing == "due"
    assert (found.window.opens.meter, found.window.opens.value) == (
        "wheel_distance",
        26_050,
    )


def test_engine_oil_counts_by_the_odometer_alone(coach, car):
    towed(coach, car, distance=Decimal(9_000))

    ends = [one.window.closes for one in standing_of(car, "engine_oil").pending]

    assert [one.meter for one in ends if isinstance(one, MeterPoint)] == ["odometer"]


def test_odometer_that_counts_while_it_is_towed_then_nothing_is_added(coach, car):
    wheel_off(car)
    towed(coach, car, counts=True, distance=Decimal(70))

    found = standing_of(car, "lug_recheck")

    assert found.window.opens.meter == "odometer"


def test_page_of_the_car_shows_both(coach, car, keeper, client_as):
    url = reverse("rig_use", args=[car.pk])
    assert "have gone" not in client_as(keeper).get(url).text
    towed(coach, car, distance=Decimal(70))

    page = client_as(keeper).get(url).text

    assert (
        "Wheels and bearings have gone 26,070 mi: 26,000 mi on the odometer and "
        "70 mi towed." in page
    )
    drawn = client_as(keeper).get(reverse("use_chart", args=[car.pk, "odometer"]))
    assert "have gone 26,070 mi" in drawn.text
    for name in ("rig", "rig_events", "rig_plan", "give_reading"):
        assert client_as(keeper).get(reverse(name, args=[car.pk])).status_code == 200
    item = car.plan_items.get(key="lug_recheck")
    assert client_as(keeper).get(reverse("item", args=[item.pk])).status_code == 200
