"""A rig is sold, and taken back when that was a mistake."""

import pytest
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.plans.queries import due_standings
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def sold(keeper):
    rig = builders.make_rig(keeper.household, sold_on=TODAY)
    builders.make_item(rig)
    return rig


def test_sold_rig_says_so_and_asks_for_no_plan(sold, keeper, client_as):
    page = client_as(keeper).get(reverse("rig", args=[sold.pk])).text

    assert "It is sold: it asks for nothing" in page
    assert "No plan yet" not in page


def test_rig_that_was_not_sold_counts_again(sold, keeper, client_as):
    client_as(keeper).post(reverse("take_back", args=[sold.pk]))

    sold.refresh_from_db()
    assert sold.sold_on is None
    assert due_standings(keeper.household).filter(item__rig=sold).exists()


def test_crew_takes_no_rig_back(sold, keeper, client_as):
    crew = builders.make_member(keeper.household, Role.CREW)

    answer = client_as(crew).post(reverse("take_back", args=[sold.pk]))

    assert answer.status_code == 403
