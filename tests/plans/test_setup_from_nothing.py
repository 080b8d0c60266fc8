"""From an empty machine to two rigs with their plans, by the pages alone: every address
but the first is one that a page led to."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig

FIRST = {
    "name": "Wren",
    "username": "wren",
    "password": "alder lane at dusk",
    "again": "alder lane at dusk",
    "household": "Alder Lane",
    "timezone": "America/Denver",
    "distance_unit": "mi",
    "country": "US",
    "currency": "USD",
}
MOTORHOME = {
    "name": "Juniper",
    "kind": "motorhome",
    "wheels": "six",
    "in_service_on": "2019-06-01",
    "distance_unit": "mi",
    "odometer": "42,310",
    "generator_hours": "310",
}
TRAILER = {
    "name": "Willow",
    "kind": "travel_trailer",
    "wheels": "trailer_two",
    "in_service_on": "2021-04-01",
    "distance_unit": "mi",
}


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


def as_shown(page) -> dict[str, list[str]]:
    """What a browser sends of the page's form when nothing is changed."""
    text = page.content.decode()
    data: dict[str, list[str]] = {}
    for box in re.findall(r"<input[^>]*>", text):
        ticked = 'type="checkbox"' in box and re.search(r"\schecked", box)
        if ticked or ('type="hidden"' in box and "csrf" not in box):
            name, value = (re.search(rf'{a}="([^"]*)"', box) for a in ("name", "value"))
            assert name is not None
            data.setdefault(name[1], []).append(value[1] if value else "on")
    return data


def set_up(client, page, rig):
    """The four pages of a rig; only the first and the last are typed into."""
    page = client.post(page.request["PATH_INFO"], rig, follow=True)
    assert "Equipment of" in page.content.decode()
    page = client.post(page.request["PATH_INFO"], as_shown(page), follow=True)
    assert "A plan for" in page.content.decode()
    page = client.post(page.request["PATH_INFO"], as_shown(page), follow=True)
    assert "Past work" in page.content.decode()
    return client.post(page.request["PATH_INFO"], {"rest_unknown": "on"}, follow=True)


@pytest.mark.django_db
def test_motorhome_and_trailer_are_set_up_by_the_pages_alone():
    client = Client(headers={"host": "127.0.0.1:8020"})  # on the machine itself
    page = client.post(reverse("first_run"), FIRST, follow=True)

    page = set_up(client, page, MOTORHOME)
    assert page.status_code == 200
    set_up(client, client.get(reverse("add_rig")), TRAILER)

    counts = [rig.plan_items.active().count() for rig in Rig.objects.order_by("pk")]
    assert all(count > 100 for count in counts)
    assert not PlanItem.objects.filter(baseline_on__isnull=False).exists()
    due = client.get(reverse("due")).content.decode()
    assert due.index("No record yet") > 0
