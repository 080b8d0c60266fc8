"""What the forms about rigs say of days and years that cannot be."""

from datetime import date

import pytest

from maintenance.vehicles.forms import RigForm, StayForm
from maintenance.vehicles.models import Stay, Trip
from maintenance.vehicles.trip_forms import TripForm
from tests import builders


@pytest.fixture
def rig(db):
    return builders.make_rig()


def test_stay_that_ends_before_it_starts_is_told_at_its_field(rig):
    data = {
        "start": "2026-11-20",
        "planned_until": "2026-11-01",
        "batteries": "connected",
    }
    form = StayForm(data, instance=Stay(rig=rig), rig=rig)

    assert form.errors == {
        "planned_until": ["The end is before the start. Enter a later end."]
    }


def test_trip_that_ends_before_it_starts_is_told_at_its_field(rig):
    form = TripForm(
        {"start": "2026-12-10", "end": "2026-12-01", "unit": "mi"},
        rig=rig,
        instance=Trip(rig=rig),
    )

    assert form.errors == {
        "end": ["The last day is before the first. Enter a later last day."]
    }


@pytest.mark.parametrize("year", ["16", "1066"])
def test_model_year_is_asked_for_in_full(db, year):
    form = RigForm({"year": year})

    assert form.errors["year"] == ["Enter the year in full, like 2016."]


def test_rig_of_a_year_and_a_day_is_taken(db):
    data = {"name": "Juniper", "kind": "motorhome", "wheels": "four", "year": "2016"}

    form = RigForm(data | {"in_service_on": "2016-06-01"})

    assert form.is_valid(), form.errors
    assert form.cleaned_data["in_service_on"] == date(2016, 6, 1)
