"""Before a trip starts it is asked once more whether what travels is fit to."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.findings.services import open_finding
from maintenance.households.models import ActivityEntry, Role
from maintenance.vehicles.models import Trip
from tests import builders
from tests.builders import TODAY

DAY = timedelta(days=1)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Juniper")
    open_finding(rig, by=keeper, on=TODAY, what="Crack in the frame", unfit=True)
    return rig


def plan(client, rig, start=TODAY, **typed):
    data = {
        "title": "Lake",
        "start": start.isoformat(),
        "end": (start + 3 * DAY).isoformat(),
        "distance": "200",
        "unit": "mi",
        "form_token": str(uuid4()),
    }
    return client.post(reverse("plan_trip", args=[rig.pk]), data | typed)


def test_trip_that_starts_today_with_an_unfit_rig_is_refused_in_words(
    client_as, keeper, rig
):
    page = plan(client_as(keeper), rig)

    text = page.content.decode().replace("&#x27;", "'")
    assert not Trip.objects.exists()
    assert "Don't leave until this is fixed and recorded" in text
    assert "Juniper: Crack in the frame" in text
    assert 'name="leave_anyway"' in text
    assert 'value="Lake"' in text


def test_keeper_may_decide_otherwise_with_a_reason(client_as, keeper, rig):
    plan(client_as(keeper), rig, leave_anyway="To the shop, 3 mi at walking pace")

    assert Trip.objects.get().title == "Lake"
    entry = ActivityEntry.objects.get(what="left though unfit")
    assert entry.about == "Juniper: To the shop, 3 mi at walking pace"


def test_crew_may_not(client_as, keeper, rig):
    crew = builders.make_member(keeper.household, role=Role.CREW)

    page = plan(client_as(crew), rig, leave_anyway="It holds")

    assert "Only a keeper" in page.content.decode()
    assert not Trip.objects.exists()


def test_tow_vehicle_that_is_unfit_is_asked_about_with_its_trailer(
    client_as, keeper, rig
):
    trailer = builders.make_rig(
        keeper.household, name="Wren", kind="travel_trailer", meter=None
    )

    page = plan(client_as(keeper), trailer, tow_vehicle=rig.pk)

    assert "Juniper: Crack in the frame" in page.content.decode()
    assert not Trip.objects.exists()


@pytest.mark.parametrize("days", [1, -10])
def test_trip_of_another_day_is_not_asked_about(client_as, keeper, rig, days):
    """A later one is told of on its eve; a past one has been."""
    plan(client_as(keeper), rig, TODAY + days * DAY)

    assert Trip.objects.exists()


def test_planned_trip_moved_to_today_is_asked_about_and_a_begun_one_is_not(
    client_as, keeper, rig
):
    client = client_as(keeper)
    plan(client, rig, TODAY + 5 * DAY)
    trip = Trip.objects.get()
    url = reverse("change_trip", args=[trip.pk])
    typed = {
        "title": "Coast",
        "start": TODAY.isoformat(),
        "end": (TODAY + DAY).isoformat(),
        "distance": "200",
        "unit": "mi",
    }

    client.post(url, typed | {"form_token": str(uuid4())})
    trip.refresh_from_db()
    assert trip.start == TODAY + 5 * DAY

    Trip.objects.update(start=TODAY - DAY, end=TODAY + DAY)
    client.post(url, typed | {"form_token": str(uuid4())})
    trip.refresh_from_db()
    assert trip.title == "Coast"
