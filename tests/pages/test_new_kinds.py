"""Toy haulers, folding trailers, truck campers and tow dollies, by the pages alone."""

from datetime import date

import pytest
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.library.reading import load_library
from maintenance.pages.components.drawing import wheel_plan
from maintenance.plans.forms.setup import EquipmentForm
from maintenance.vehicles.forms import RigForm
from maintenance.vehicles.models import LAYOUT_PLACES, Rig
from tests import builders
from tests.plans.test_setup_from_nothing import as_shown

WHEELS = {
    "toy_hauler": "trailer_two",
    "folding_trailer": "trailer_one",
    "truck_camper": "none",
    "tow_dolly": "trailer_one",
}
PAGES = (
    "rig",
    "rig_use",
    "rig_plan",
    "record_work",
    "report_event",
    "rig_events",
    "shop_sheet",
    "parts",
    "tires",
    "axle_ratings",
    "weights",
    "start_stay",
    "change_rig",
    "rig_spots",
)


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def client(client_as, db):
    return client_as(builders.make_member(role=Role.KEEPER))


def add(client, kind, **changed) -> Rig:
    data = {
        "name": "Juniper",
        "kind": kind,
        "wheels": WHEELS[kind],
        "in_service_on": "2021-04-01",
        "distance_unit": "mi",
    }
    page = client.post(reverse("add_rig"), data | changed, follow=True)
    page = client.post(page.request["PATH_INFO"], as_shown(page), follow=True)
    client.post(page.request["PATH_INFO"], as_shown(page), follow=True)
    return Rig.objects.get()


@pytest.mark.either_database
@pytest.mark.parametrize("kind", WHEELS)
def test_new_kind_is_set_up_and_every_page_of_it_opens(client, kind):
    rig = add(client, kind)

    assert rig.plan_items.active().count() > 10
    for name in PAGES:
        page = client.get(reverse(name, args=[rig.pk]), follow=True)
        assert page.status_code == 200, name
    page = client.post(reverse("start_walkround", args=[rig.pk]), follow=True)
    assert page.status_code == 200
    for item in rig.plan_items.active():
        assert client.get(reverse("item", args=[item.pk])).status_code == 200, item.key


@pytest.mark.parametrize(
    ("kind", "has", "lacks"),
    [
        ("toy_hauler", {"lug_recheck", "garage_load_check"}, {"camper_load"}),
        ("folding_trailer", {"lug_recheck", "folding_roof_look"}, {"slide_run"}),
        (
            "truck_camper",
            {"camper_tie_down_check", "propane_leak_check", "walk_departure"},
            {"lug_recheck", "tire_pressure", "bearing_repack", "tire_replace"},
        ),
        (
            "tow_dolly",
            {"lug_recheck", "tow_dolly_check", "surge_brake_look", "bearing_repack"},
            {"escape_ways", "roof_inspection", "smoke_alarm_test", "winterize"},
        ),
    ],
)
def test_new_kind_is_offered_what_it_needs(client, kind, has, lacks):
    rig = add(client, kind)
    taken = set(rig.plan_items.active().values_list("key", flat=True))

    assert has <= taken
    assert not lacks & taken


@pytest.mark.parametrize(
    ("kind", "wheels"),
    [
        ("truck_camper", "trailer_one"),
        ("truck_camper", "four"),
        ("toy_hauler", "none"),
        ("tow_dolly", "four"),
        ("motorhome", "none"),
    ],
)
def test_wheels_that_do_not_go_with_the_kind_are_refused(db, kind, wheels):
    form = RigForm({"kind": kind, "wheels": wheels})

    assert form.errors["wheels"] == [
        "These wheels don't go with this kind of rig. Choose others."
    ]


@pytest.mark.parametrize(("kind", "wheels"), WHEELS.items())
def test_new_kind_is_drawn_by_its_wheels(kind, wheels):
    plan = wheel_plan(Rig(kind=kind, wheels=wheels), (), date(2026, 5, 4))

    places = [wheel.place for wheel in plan.wheels]
    assert places == [*LAYOUT_PLACES[wheels], "SPARE"]
    assert plan.body > 0


@pytest.mark.parametrize(
    ("year", "ticked"),
    [(2012, "house_battery_agm"), (2022, "house_battery_lithium")],
)
def test_equipment_is_ticked_by_kind_and_year(db, year, ticked):
    rig = builders.make_rig(kind="campervan", year=year)
    form = EquipmentForm(rig=rig, library=load_library())
    found = {key for field in form.fields.values() for key in field.initial}

    both = {"house_battery_agm", "house_battery_lithium"}
    assert found & both == {ticked}
