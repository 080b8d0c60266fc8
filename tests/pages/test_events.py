"""Saying that something happened, and what the page answers."""

from datetime import timedelta

import pytest
from django.urls import reverse

from maintenance.plans.services import take_on
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil", "roof_hail"])
    return rig


@pytest.fixture
def tell(client_as, keeper, rig):
    def send(kind, on):
        page = reverse("report_event", args=[rig.pk])
        sent = {"kind": kind, "on": on.isoformat()}
        answer = client_as(keeper).post(page, sent, follow=True)
        return [str(message) for message in answer.context["messages"]]

    return send


def test_event_names_the_items_that_follow_from_it(tell):
    words = "What follows from it: Look for damage after hail or a windstorm."
    assert tell("hail", TODAY) == [f"Kept. {words}"]


@pytest.mark.parametrize(
    ("kind", "on", "day"),
    [
        ("hail", TODAY - timedelta(days=1), "3 May 2026"),  # before it was taken on
        ("collision", TODAY, "4 May 2026"),  # no item of this plan asks for it
    ],
)
def test_event_that_brings_nothing_on_says_so(tell, kind, on, day):
    words = f"Nothing on the plan follows from it, as the plan stood on {day}."
    assert tell(kind, on) == [f"Kept. {words}"]
