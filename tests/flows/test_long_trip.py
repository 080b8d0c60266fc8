"""A motorhome taken on an 1,800-mile trip with a car towed behind, on set dates:
planned in May, held up by a finding, looked at on the way, told of at home."""

from datetime import date
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.findings.models import Finding
from maintenance.households.models import Household
from maintenance.plans.models import Completion, PlanItem
from maintenance.vehicles.models import Reading, Trip
from tests import builders

ODOMETER = {"unit": "mi", "meter": "odometer"}
OIL = [{"every": {"distance": 5000, **ODOMETER}}]
TIRES = [{"every": {"distance": 1000, **ODOMETER}}]
PLAN = {
    "title": "The coast and back",
    "origin": "Home",
    "start": "2026-05-10",
    "end": "2026-05-27",
    "distance": "1,800",
    "unit": "mi",
    "people": "2",
    "water": "50",
}


@pytest.fixture
def household(db) -> Household:
    return builders.make_household()


@pytest.fixture
def client(client_as, household, clock):
    clock("2026-05-04 09:00", "America/Denver")
    return client_as(builders.make_member(household))


@pytest.fixture
def coach(household):
    """At 40,000 mi on 4 May. Oil since 35,100 mi, tires looked at that day."""
    rig = builders.make_rig(household, name="Coach")
    builders.make_reading(rig, builders.TODAY, 40000)
    for key, rules, at in (("engine_oil", OIL, 35100), ("tire_look", TIRES, 40000)):
        item = builders.make_item(rig, key, triggers=rules)
        Completion.objects.create(
            item=item,
            on=builders.TODAY,
            values={"odometer": str(at)},
            outcome="done",
        )
    builders.make_item(rig, "walk_departure", triggers=[{"before_trip": {"lead": 0}}])
    return rig


@pytest.fixture
def bug(household):
    rig = builders.make_rig(household, name="Bug", kind="towed_car")
    builders.make_reading(rig, builders.TODAY, 30000)
    builders.make_item(rig, "tow_bar_check", triggers=[{"before_trip": {"lead": 1}}])
    return rig


def record(client, item: PlanItem, on: str, odometer: str) -> None:
    data = {
        "form_token": str(uuid4()),
        "on": on,
        "done_by": "member",
        "doer": "Ada",
        "wheels-unit": "ft·lbf",
        "meter_odometer": odometer,
        "lines-TOTAL_FORMS": "1",
        "lines-INITIAL_FORMS": "0",
        "lines-0-item": item.pk,
        "lines-0-outcome": "done",
        "used-TOTAL_FORMS": "0",
        "used-INITIAL_FORMS": "0",
    }
    answer = client.post(reverse("record_work", args=[item.rig_id]), data)
    assert answer.status_code == 302, answer.context["form"].errors


def titles(lines) -> list[str]:
    return [line.item.key for line in lines]


def plan(client, coach, bug):
    url = reverse("plan_trip", args=[coach.pk])
    answer = client.post(url, PLAN | {"towed_car": bug.pk}, follow=True)
    return answer.context["sheet"]


def look(client):
    url = reverse("trip", args=[Trip.objects.get().pk])
    return client.get(url).context["sheet"]


def test_sheet_leads_from_planning_to_the_day_of_leaving(client, coach, bug, clock):
    wheel = Finding.objects.create(
        rig=bug, what="Cracked rim", found_on=builders.TODAY, unfit=True
    )

    sheet = plan(client, coach, bug)

    # 100 mi are left to the oil change, and it can be done now: before leaving.
    assert titles(sheet.before) == ["engine_oil"]
    # 900 to 1,000 mi on, of 100 mi a day.
    assert titles(sheet.road) == ["tire_look"]
    assert sheet.road[0].job.closes == date(2026, 5, 19)
    assert [stop.what for stop in sheet.stops] == ["Cracked rim"]

    client.post(reverse("fix_finding", args=[wheel.pk]))
    record(client, PlanItem.objects.get(key="engine_oil"), "2026-05-04", "40000")

    sheet = look(client)
    assert (sheet.stops, sheet.before) == ([], [])

    clock("2026-05-09 18:00", "America/Denver")
    record(client, PlanItem.objects.get(key="tow_bar_check"), "2026-05-09", "30010")
    stops = look(client).checklist.lap
    done = {one.key: one.done_on for stop in stops for one in stop.checks if one.item}
    assert done == {"tow_bar_check": date(2026, 5, 9), "walk_departure": None}


def test_on_the_way_the_sheet_goes_by_what_was_read(client, coach, bug, clock):
    plan(client, coach, bug)
    clock("2026-05-16 18:00", "America/Denver")
    meter = coach.meters.get().pk
    reading = {"on": "2026-05-16", "meter": meter, "value": "40,930"}
    client.post(reverse("give_reading", args=[coach.pk]), reading)

    sheet = look(client)

    # 70 mi are left of the 1,000: it is open, and due tomorrow, not on the 19th.
    (line,) = [one for one in sheet.before + sheet.road if one.item.key == "tire_look"]
    assert line.job.closes == date(2026, 5, 17)


def test_told_at_home_the_meters_count_it_and_a_second_claim_is_named(
    client, coach, bug, clock
):
    plan(client, coach, bug)
    trip = Trip.objects.get()
    clock("2026-05-28 09:00", "America/Denver")
    assert "How did it go?" in client.get(reverse("trips")).text

    told = {"end": "2026-05-27", "hitched_at": "40,120", "unhitched_at": "41,960"}
    client.post(reverse("tell_trip", args=[trip.pk]), told)

    trip.refresh_from_db()
    assert trip.distance == 1840
    values = Reading.objects.filter(meter__rig=coach).order_by("on")
    assert [int(row.value) for row in values] == [40000, 40120, 41960]
    assert Reading.objects.filter(meter__rig=bug).count() == 1  # it stood still
    tires = PlanItem.objects.get(key="tire_look").standing
    assert tires.standing == "overdue"  # 1,000 mi were passed on the way

    past = PLAN | {"start": "2026-05-01", "end": "2026-05-03", "title": "Elk Lake"}
    client.post(reverse("plan_trip", args=[coach.pk]), past | {"distance": "200"})
    other = Trip.objects.get(title="Elk Lake")
    said = {"end": "2026-05-03", "hitched_at": "39,900", "unhitched_at": "40,200"}
    answer = client.post(reverse("tell_trip", args=[other.pk]), said)
    assert "t fit" in answer.text
    said |= {"doubt_hitched_at": "right", "doubt_unhitched_at": "right"}
    answer = client.post(reverse("tell_trip", args=[other.pk]), said, follow=True)
    assert "Together they count 2,060 mi, not 2,140 mi." in answer.text
    assert "“The coast and back”" in answer.text
