"""A reading at a fuel stop takes the fuel along; without fuel it is a reading."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.vehicles import services
from maintenance.vehicles.models import FuelStop, Reading
from tests import builders

TODAY = date(2026, 5, 4)


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper, clock):
    clock("2026-05-04 15:00", "America/Denver")
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 5, 1), 43000)
    return rig


@pytest.fixture
def post(client_as, keeper, rig):
    meter = rig.meters.get()
    url = reverse("give_reading", args=[rig.pk])

    def send(**data):
        return client_as(keeper).post(url, {"meter": meter.pk, "on": TODAY, **data})

    return send


def test_fuel_stop_keeps_reading_fuel_and_price(post):
    answer = post(value="43,210", volume="23.456", price="91.20", full="on")

    stop = FuelStop.objects.get()
    assert answer.status_code == 302
    assert (stop.volume, stop.unit) == (Decimal("23.456"), "gal")
    assert (stop.price, stop.currency, stop.full) == (Decimal("91.20"), "USD", True)
    assert stop.reading.value == 43210


def test_reading_without_fuel_keeps_no_fuel_stop(post):
    post(value="43,210", volume="", full="on")

    assert Reading.objects.filter(value=43210).exists()
    assert not FuelStop.objects.exists()


def test_liters_are_converted_to_gallons(post):
    post(value="43210", volume="37.85411784 L")  # 10 US gal, NIST SP 811

    assert FuelStop.objects.get().volume == Decimal("10.000")


def test_household_that_counts_kilometers_buys_liters(post, keeper):
    keeper.household.distance_unit = "km"
    keeper.household.save()

    post(value="43210", volume="40")

    assert FuelStop.objects.get().unit == "L"


def test_price_without_fuel_is_asked_about_and_nothing_is_stored(post):
    page = post(value="43210", price="50").content.decode()

    assert "Enter how much fuel this price was for." in page
    assert 'value="43210"' in page
    assert not Reading.objects.filter(value=43210).exists()


def test_doubtful_reading_at_a_fuel_stop_is_asked_about_with_all_kept(post):
    page = post(value="430000", volume="20").content.decode()

    assert "This doesn&#x27;t fit" in page
    assert 'value="20"' in page
    assert not FuelStop.objects.exists()


def test_trailer_is_asked_for_no_fuel(client_as, keeper, rig):
    trailer = builders.make_rig(
        keeper.household, name="Trailer", kind="travel_trailer", wheels="trailer_two"
    )
    trailer.meters.update(kind="towed")

    page = client_as(keeper).get(reverse("give_reading", args=[trailer.pk]))

    assert "Fuel added" not in page.content.decode()


def test_fuel_goes_with_no_hour_meter(keeper, rig):
    hours = services.add_meter(rig, kind="engine", unit="h")
    about = {"by": keeper, "today": TODAY, "on": TODAY, "value": Decimal(5)}

    with pytest.raises(Refused, match="odometer"):
        services.record_fuel_stop(hours, **about, volume=Decimal(9), unit="gal")


def test_viewer_gives_no_fuel(keeper, rig, client_as):
    viewer = builders.make_member(keeper.household, role=Role.VIEWER)

    answer = client_as(viewer).get(reverse("give_reading", args=[rig.pk]))

    assert answer.status_code == 403


def test_database_takes_no_empty_fuel_stop(rig):
    reading = Reading.objects.first()

    with pytest.raises(IntegrityError), transaction.atomic():
        FuelStop.objects.create(reading=reading, volume=0, unit="gal", currency="USD")
