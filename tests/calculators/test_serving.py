"""A kept figure serves where it matters: a stay, an interval, the page of a job."""

from decimal import Decimal
from urllib.parse import urlencode

import pytest
from django.urls import reverse

from maintenance.calculators.models import KeptFigure
from maintenance.households.models import Role
from maintenance.plans.models import PlanItem, RulesFrom
from maintenance.plans.services import change_rules, take_on
from maintenance.vehicles.models import RunwaySetting
from tests import builders
from tests.builders import TODAY
from tests.calculators.examples import EXAMPLES

KEYS = ["water_heater_flush", "tap_aerators", "black_valve_closed", "engine_oil"]
YEARLY = [{"every": {"months": 12}}]
HALF = [{"every": {"months": 6}}]


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=TODAY, keys=KEYS)
    return rig


def keep(client, rig, key, **typed):
    query = urlencode(EXAMPLES[key] | typed)
    url = reverse("keep_figure", args=[key])
    page = client.post(url, {"query": query, "rig": rig.pk}, follow=True)
    return [str(message) for message in page.context["messages"]]


def rules(rig, key="water_heater_flush"):
    item = PlanItem.objects.get(rig=rig, key=key)
    return item.triggers, item.rules_from


def test_measured_draw_then_storage_counts_it(client_as, keeper, rig):
    RunwaySetting.objects.create(rig=rig, house_capacity=100, traps=5)

    [said] = keep(client_as(keeper), rig, "battery_standing", battery="house")

    setting = RunwaySetting.objects.get()
    assert (setting.house_drain, setting.chassis_drain) == (Decimal("0.1"), None)
    assert setting.traps == 5
    assert "now uses it as the draw on the house battery" in said


@pytest.mark.parametrize(
    "typed", [{"battery": ""}, {"battery": "house", "measured": ""}]
)
def test_draw_of_no_battery_or_not_measured_then_storage_stays(
    client_as, keeper, rig, typed
):
    keep(client_as(keeper), rig, "battery_standing", **typed)

    assert not RunwaySetting.objects.exists()
    assert KeptFigure.objects.exists()


def test_hard_water_then_its_work_comes_sooner_and_soft_brings_it_back(
    client_as, keeper, rig
):
    """Hard from 121 mg/L: US Geological Survey. Twice a year then: common practice."""
    client = client_as(keeper)

    said = keep(client, rig, "water_hardness", mg_l="", grains="8")  # 137 mg/L

    assert rules(rig) == (HALF, RulesFrom.OWN)
    assert rules(rig, "tap_aerators") == (HALF, RulesFrom.OWN)
    assert "is now every 6 months" in said[0]
    assert rules(rig, "engine_oil")[1] == RulesFrom.LIBRARY

    said = keep(client, rig, "water_hardness", mg_l="120")

    assert rules(rig) == (YEARLY, RulesFrom.LIBRARY)
    assert "is back on its usual interval" in said[0]


def test_interval_that_somebody_chose_then_it_stays(client_as, keeper, rig):
    item = PlanItem.objects.get(rig=rig, key="water_heater_flush")
    own = [{"every": {"months": 3}}]
    change_rules(item, by=keeper, today=TODAY, rules=own)

    keep(client_as(keeper), rig, "water_hardness", mg_l="300")

    assert rules(rig)[0] == own


def test_crew_then_a_keeper_is_to_be_asked(client_as, keeper, rig):
    crew = builders.make_member(keeper.household, role=Role.CREW)

    said = keep(client_as(crew), rig, "water_hardness", mg_l="300")

    assert rules(rig) == (YEARLY, RulesFrom.LIBRARY)
    assert "Ask a keeper" in said[0]


def test_own_gallons_of_a_tank_then_they_stand_with_the_dump_valve(
    client_as, keeper, rig
):
    client = client_as(keeper)
    other = builders.make_rig(keeper.household)
    keep(client, rig, "waste_tank")  # 40 x 20 x 10 in: 34.6 gal
    keep(client, other, "waste_tank", height="20 in")
    item = PlanItem.objects.get(rig=rig, key="black_valve_closed")

    page = client.get(reverse("item", args=[item.pk])).content.decode()

    assert "Dump at or above: 23.1 gal" in page
    assert "46.2 gal" not in page
