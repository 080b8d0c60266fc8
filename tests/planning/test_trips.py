"""The list of trips and its forms."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.vehicles.models import Trip
from tests import builders


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def client(client_as, keeper, clock):
    clock("2026-05-04")
    return client_as(keeper)


@pytest.fixture
def coach(keeper):
    return builders.make_rig(keeper.household, name="Coach")


def fields(**more):
    return {
        "title": "Coast",
        "start": "2026-06-01",
        "end": "2026-06-18",
        "distance": "1,800",
        "unit": "mi",
        **more,
    }


def test_trip_with_a_towed_car_and_its_load_is_planned(client, coach, keeper):
    car = builders.make_rig(keeper.household, kind="towed_car")
    load = {"people": "2", "water": "150 L", "cargo": "900"}

    client.post(reverse("plan_trip", args=[coach.pk]), fields(towed_car=car.pk, **load))

    trip = Trip.objects.get()
    assert (trip.distance, trip.towed_car, trip.people) == (1800, car, 2)
    assert (trip.water, trip.water_unit) == (Decimal("39.6"), "gal")
    assert (trip.cargo, trip.cargo_unit) == (900, "lb")


def test_trip_without_distance_is_asked_for_it_where_it_was_typed(client, coach):
    answer = client.post(reverse("plan_trip", args=[coach.pk]), fields(distance=""))

    form = answer.context["form"]
    assert "1 mi to 27,000 mi" in form.errors["distance"][0]
    assert form["title"].value() == "Coast"


def test_load_keeps_its_unit_when_the_household_changes_over(client, coach, keeper):
    client.post(reverse("plan_trip", args=[coach.pk]), fields(water="40"))
    keeper.household.distance_unit = "km"
    keeper.household.save()
    trip = Trip.objects.get()

    client.post(reverse("change_trip", args=[trip.pk]), fields(water="41"))

    trip.refresh_from_db()
    assert (trip.water, trip.water_unit) == (41, "gal")


def test_trip_that_is_over_is_asked_about_and_told(client, coach):
    trip = Trip.objects.create(
        rig=coach, start=date(2026, 4, 1), end=date(2026, 4, 9), distance=900
    )
    assert "How did it go?" in client.get(reverse("trips")).text

    answer = client.post(
        reverse("tell_trip", args=[trip.pk]),
        {"end": "2026-04-09", "hitched_at": "41000", "unhitched_at": "41950"},
        follow=True,
    )

    trip.refresh_from_db()
    assert trip.distance == 950
    assert "How did it go?" not in answer.text


def test_two_trips_at_once_are_told_after_saving(client, coach):
    Trip.objects.create(
        rig=coach, start=date(2026, 6, 3), end=date(2026, 6, 9), distance=9, title="Elk"
    )

    answer = client.post(reverse("plan_trip", args=[coach.pk]), fields(), follow=True)

    assert "Coach would be on two trips at once: “Coast”" in answer.text
    assert "“Elk” of Coach" in answer.text


def test_list_asks_the_same_of_the_database_for_many_trips(
    client, coach, django_assert_num_queries, django_assert_max_num_queries
):
    def make(n):
        for i in range(n):
            day = date(2026, 4, 1 + i)
            Trip.objects.create(rig=coach, start=day, end=day, distance=9)

    make(1)
    with django_assert_max_num_queries(20) as few:
        client.get(reverse("trips"))
    make(20)
    with django_assert_num_queries(len(few)):
        client.get(reverse("trips"))
