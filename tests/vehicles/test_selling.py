"""A rig is sold, and taken back when that was a mistake."""

from datetime import timedelta

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

    assert "Its history stays." in page
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


YESTERDAY = TODAY - timedelta(1)


@pytest.mark.parametrize("kept", ["reading", "event", "stay", "trip", "tow", "towed"])
def test_sale_before_what_is_kept_of_a_later_day_is_refused_in_words(
    keeper, client_as, kept
):
    rig = builders.make_rig(keeper.household, name="Wren")
    other = builders.make_rig(keeper.household, name="Other")
    days = {"start": TODAY, "end": TODAY, "distance": 9}
    {
        "reading": lambda: builders.make_reading(rig, TODAY, 42_000),
        "event": lambda: rig.events.create(kind="hail", on=TODAY),
        "stay": lambda: rig.stays.create(start=TODAY),
        "trip": lambda: rig.trips.create(**days),
        "tow": lambda: other.trips.create(**days, tow_vehicle=rig),
        "towed": lambda: other.trips.create(**days, towed_car=rig),
    }[kept]()
    browser, page = client_as(keeper), reverse("sell_rig", args=[rig.pk])

    early = browser.post(page, {"on": YESTERDAY.isoformat()})

    assert "Wren was still yours on May 4, 2026" in early.text
    rig.refresh_from_db()
    assert rig.sold_on is None

    browser.post(page, {"on": TODAY.isoformat()})
    rig.refresh_from_db()
    assert rig.sold_on == TODAY


def test_sale_before_what_was_withdrawn_or_is_only_planned_is_kept(keeper, client_as):
    rig = builders.make_rig(keeper.household)
    rig.events.create(kind="hail", on=TODAY, withdrawn=True)
    start = TODAY + timedelta(9)
    rig.trips.create(start=start, end=start, distance=9)

    page = reverse("sell_rig", args=[rig.pk])
    client_as(keeper).post(page, {"on": YESTERDAY.isoformat()})

    rig.refresh_from_db()
    assert rig.sold_on == YESTERDAY
