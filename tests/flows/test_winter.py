"""A motorhome is put away in autumn, watched, and woken in spring, on set days."""

from datetime import date
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.planning.storage.work import stay_work
from maintenance.plans.models import Standing
from maintenance.plans.services import take_on
from maintenance.plans.standings import renew_household
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Stay
from tests import builders

KEYS = [
    "store_photos",
    "frost_decision",
    "store_propane",
    "chassis_battery_off",
    "watch_visit",
    "drain_traps",
    "battery_stored_charge",
    "exit_covers",
    "burner_nest_look",
    "exit_battery",
    "exit_alarms",
    "exit_propane_test",
    "exit_first_roll",
    "co_alarm_renew",
]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Heron")
    builders.make_reading(rig, date(2026, 10, 1), 42000)
    take_on(rig, by=keeper, today=date(2026, 1, 1), keys=KEYS)
    return rig


@pytest.fixture
def on(clock, client_as, keeper):
    """The household's day, with everything reckoned as of it."""

    def go(day):
        clock(f"{day} 15:00", "America/Denver")
        renew_household(keeper.household, as_of=date.fromisoformat(day))
        return client_as(keeper)

    return go


def record(rig, key, day):
    """As the form of work done does it."""
    item = rig.plan_items.get(key=key)
    keeper = rig.household.members.get()
    builders.log_work(
        rig,
        by=keeper,
        today=date.fromisoformat(day),
        form_token=uuid4(),
        on=date.fromisoformat(day),
        lines=[Line(item.title, item)],
        doer=keeper.name,
    )


def standing(rig, key):
    return Standing.objects.get(item__rig=rig, item__key=key)


def keys(jobs):
    return [job.item.key for job in jobs]


def test_winter_from_the_last_drive_to_the_first(rig, on):
    autumn = on("2026-11-01")
    data = {
        "start": "2026-11-05",
        "planned_until": "2027-03-20",
        "usual": "35",
        "lowest": "-5",
        "batteries": "connected",
    }
    autumn.post(reverse("start_stay", args=[rig.pk]), data)
    autumn.post(
        reverse("runways", args=[rig.pk]),
        {
            "chassis_capacity": "95",
            "chassis_kind": "flooded",
            "house_kind": "agm",
            "chassis_drain": "0.05",
            "seal": "51",
            "traps": "4",
            "heater": "6",
        },
    )
    stay = Stay.objects.get()
    work = stay_work(stay, date(2026, 11, 1))
    assert keys(work.entry) == [
        "store_photos",
        "frost_decision",
        "store_propane",
        "chassis_battery_off",
    ]
    page = autumn.get(reverse("stay", args=[stay.pk])).content.decode()
    assert "Antifreeze to buy" in page
    assert "RV antifreeze" in page.split("Buy: ")[1]
    assert "Could freeze" in page

    on("2026-11-05")
    for key in ("store_photos", "frost_decision", "store_propane"):
        record(rig, key, "2026-11-05")
    winter = on("2026-12-05")
    assert standing(rig, "chassis_battery_off").standing == "overdue"
    page = winter.get(reverse("stay", args=[stay.pk])).content.decode()
    assert "was due by Nov 19, 2026" in page

    visited = winter.get(reverse("visit_stay", args=[stay.pk]))
    winter.post(
        reverse("visit_stay", args=[stay.pk]),
        {
            "token": visited.context["form"]["token"].value(),
            "on": "2026-12-05",
            "chassis": "12.3 V",
            "done": [rig.plan_items.get(key="watch_visit").pk],
        },
    )
    page = winter.get(reverse("stay", args=[stay.pk])).content.decode()
    assert "Read as 12.3 V on Dec 5, 2026" in page
    assert standing(rig, "battery_stored_charge").standing in {"due", "overdue"}

    spring = on("2027-03-18")
    end = reverse("end_stay", args=[stay.pk])
    assert (
        "Record them first"
        in spring.post(end, {"ended_on": "2027-03-18", "why": ""}).content.decode()
    )
    unsafe = keys(stay_work(stay, date(2027, 3, 18)).unsafe)
    assert unsafe == [
        "exit_covers",
        "burner_nest_look",
        "exit_battery",
        "exit_alarms",
        "exit_propane_test",
        "exit_first_roll",
    ]
    for key in unsafe:
        record(rig, key, "2027-03-18")
    assert spring.post(end, {"ended_on": "2027-03-18"}).status_code == 302

    stay.refresh_from_db()
    assert stay.ended_on == date(2027, 3, 18)
    assert stay.woken_without == ""
    assert standing(rig, "watch_visit").standing in {"waiting", "later"}
