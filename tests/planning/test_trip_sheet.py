"""The trip sheet: stops, jobs with where and when, what to carry, the lap."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.components.models import Component
from maintenance.findings.models import Finding
from maintenance.library.reading import load_library
from maintenance.planning.trips.sheet import trip_sheet
from maintenance.plans.models import Completion, ItemSupply
from maintenance.plans.services import defer
from maintenance.plans.standings import renew_standings
from maintenance.supplies.models import Supply, Tool
from maintenance.vehicles.models import Event, Trip, WeightLabel
from tests import builders
from tests.builders import TODAY

LAP = [{"before_trip": {"lead": 0}}]
OIL = [{"every": {"distance": 950, "unit": "mi", "meter": "odometer"}}]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def client(client_as, keeper, clock):
    clock("2026-05-04")
    return client_as(keeper)


@pytest.fixture
def coach(keeper):
    rig = builders.make_rig(keeper.household, name="Coach")
    builders.make_reading(rig, TODAY, 40000)
    return rig


@pytest.fixture
def trip(coach):
    """1,800 mi in 18 days: 100 mi a day."""
    return Trip.objects.create(
        rig=coach,
        start=date(2026, 5, 10),
        end=date(2026, 5, 27),
        distance=1800,
        title="Coast",
    )


def done(item, on="2026-05-04", at=40000):
    values = {"odometer": str(at)}
    Completion.objects.create(
        item=item, on=date.fromisoformat(on), values=values, outcome="done"
    )


def test_job_on_the_road_says_mile_day_and_how_often_again(trip, coach):
    done(builders.make_item(coach, "under_hood_levels", triggers=OIL))

    (line,) = trip_sheet(trip, TODAY).road

    assert line.when == (
        "between 860 mi and 950 mi, about day 10 (May 19, 2026)"  # 855 rounds up
    )
    assert line.again == ""


def test_job_that_runs_out_on_the_way_is_for_before(trip, coach):
    done(builders.make_item(coach, "under_hood_levels", triggers=OIL), at=39100)

    (line,) = trip_sheet(trip, TODAY).before

    assert line.when == "by May 9, 2026"
    assert "at about 50 mi, day 1 (May 10, 2026)" in line.about
    assert line.again.startswith("1 more time on the way (every 950 mi")


def test_shop_job_on_the_way_is_done_before_and_the_shop_is_called(trip, coach):
    library = load_library().procedures.values()
    key = next(one.key for one in library if one.who == "shop")
    done(builders.make_item(coach, key, triggers=OIL))

    sheet = trip_sheet(trip, TODAY)

    (line,) = sheet.before
    assert line.when == "by May 9, 2026; call a shop today"
    assert "It's a shop job" in line.about


def test_follow_up_of_a_wheel_keeps_its_miles(trip, coach):
    after = {"event": "wheel_off", "distance": [50, 100], "unit": "mi"}
    builders.make_item(
        coach,
        "lug_recheck",
        triggers=[{"after": {**after, "meter": "odometer"}}],
        safety=True,
    )
    Event.objects.create(
        rig=coach, kind="wheel_off", on=TODAY, values={"odometer": "40000"}
    )

    sheet = trip_sheet(trip, TODAY)

    (line,) = sheet.before + sheet.road
    assert "100 mi" in line.when + line.about


def test_unfit_item_and_finding_stop_the_sheet_in_words(client, trip, coach):
    item = builders.make_item(
        coach,
        "our_brake_fluid",
        triggers=[{"every": {"months": 12}}],
        unfit=True,
        title="Brake fluid",
    )
    done(item, on="2024-01-01")
    Finding.objects.create(rig=coach, what="Cracked hub", found_on=TODAY, unfit=True)
    Finding.objects.create(rig=coach, what="Torn screen", found_on=TODAY)
    renew_standings([coach], as_of=TODAY)

    text = client.get(reverse("trip", args=[trip.pk])).text

    stop = text[text.index("Don't leave yet") : text.index("Fix and record each")]
    assert "Brake fluid" in stop
    assert "Cracked hub" in stop
    assert "Unfit to travel" in stop
    assert "Torn screen" not in text


def test_job_put_off_then_the_sheet_says_until_when_and_by_whom(
    client, keeper, trip, coach
):
    item = builders.make_item(coach, "our_lamps", title="Lamps")
    done(item, on="2025-05-10")
    defer(item, by=keeper, today=TODAY, why="Parts come", until=date(2026, 5, 20))
    renew_standings([coach], as_of=TODAY)

    text = client.get(reverse("trip", args=[trip.pk])).text

    assert f"put off until May 20, 2026 by {keeper.name}: Parts come" in text


def test_sheet_without_a_stop_has_no_such_word(client, trip):
    assert "Do not leave" not in client.get(reverse("trip", args=[trip.pk])).text


def test_findings_of_the_towed_car_stop_the_sheet_too(trip, coach):
    car = builders.make_rig(coach.household, name="Bug", kind="towed_car")
    trip.towed_car = car
    trip.save()
    Finding.objects.create(rig=car, what="No lights", found_on=TODAY, unfit=True)

    (stop,) = trip_sheet(trip, TODAY).stops

    assert (stop.rig, stop.what) == (car, "No lights")


def test_supplies_of_the_way_are_added_up_against_the_stock(trip, coach):
    oil = Supply.objects.create(
        household=coach.household, name="Oil", unit="qt", stock=1
    )
    rules = [{"every": {"distance": 500, "unit": "mi", "meter": "odometer"}}]
    item = builders.make_item(coach, "under_hood_levels", triggers=rules)
    ItemSupply.objects.create(item=item, supply=oil, amount=Decimal("0.5"))
    done(item)

    carry = trip_sheet(trip, TODAY).carry

    thing = next(one for one in carry.supplies if one.name == "Oil")
    assert thing.words == "1.5\N{NO-BREAK SPACE}qt; 1\N{NO-BREAK SPACE}qt in stock"
    assert thing.missing  # at 500, 1,000 and 1,500 mi


def test_tools_name_what_the_household_has(trip, coach):
    Tool.objects.create(
        household=coach.household, kind="other", name="Infrared thermometer"
    )
    builders.make_item(
        coach, "walk_first_stop", triggers=[{"before_trip": {"lead": 0}}]
    )

    carry = trip_sheet(trip, TODAY).carry

    assert [(t.name, t.words) for t in carry.tools] == [
        ("Infrared thermometer", "Infrared thermometer")
    ]


def names(stops):
    return {stop.title: [one.key for one in stop.checks] for stop in stops}


def test_lap_stands_on_the_sheet_also_when_it_is_not_on_the_plan(trip, coach):
    lap = builders.make_item(coach, "walk_departure", triggers=LAP)

    checklist = trip_sheet(trip, TODAY).checklist

    assert names(checklist.lap) == {
        "Wheel by wheel, tires cold": ["lug_look"],
        "Once around, last": ["walk_lights", "walk_departure"],
    }
    assert checklist.lap[-1].checks[-1].item == lap
    assert names(checklist.first_stop) == {"At the first stop": ["walk_first_stop"]}


def test_what_was_done_yesterday_counts_for_the_lap_and_older_does_not(trip, coach):
    rule = [{"before_trip": {"lead": 3}}]
    tires = builders.make_item(coach, "tire_condition", triggers=rule)
    alarm = builders.make_item(coach, "smoke_alarm_test", triggers=rule)
    done(tires, on="2026-05-09")
    done(alarm, on="2026-05-08")

    leaving = trip_sheet(trip, date(2026, 5, 10)).checklist
    later = trip_sheet(trip, date(2026, 5, 14)).checklist

    found = {one.key: one.done_on for stop in leaving.lap for one in stop.checks}
    assert found["tire_condition"] == date(2026, 5, 9)
    assert found["smoke_alarm_test"] is None
    assert (leaving.minutes, leaving.left) == (11, 9)  # 1 + 2 + 2 + 2 + 4
    assert (later.minutes, later.left) == (11, 11)  # the lap of another departure


@pytest.mark.parametrize(
    ("by", "minutes"), [("", [2, 0]), ("coach", [0, 2]), ("both", [2, 0])]
)
def test_lights_of_a_pair_are_one_look(trip, coach, keeper, by, minutes):
    """Its minutes stand with the first rig of which it is not done."""
    bug = builders.make_rig(keeper.household, name="Bug", kind="towed_car")
    trip.towed_car = bug
    trip.save()
    rule = [{"before_trip": {"lead": 3}}]
    for name, rig in (("coach", coach), ("bug", bug)):
        item = builders.make_item(rig, "walk_lights", triggers=rule)
        if by in {name, "both"}:
            done(item, on="2026-05-09")

    checklist = trip_sheet(trip, date(2026, 5, 10)).checklist

    lights = [x for x in checklist.lap[-1].checks if x.key == "walk_lights"]
    assert [one.rig for one in lights] == [coach, bug]
    assert [one.minutes for one in lights] == minutes
    assert checklist.minutes == 2 + 2 + 4  # lug_look and walk_departure
    assert checklist.left == (6 if by == "both" else 8)


def test_last_lap_of_yesterday_does_not_count_and_a_hitch_of_yesterday_does(
    trip, coach
):
    done(builders.make_item(coach, "walk_departure", triggers=LAP), on="2026-05-09")
    done(builders.make_item(coach, "hitch_up_ball", triggers=LAP), on="2026-05-09")

    lap = trip_sheet(trip, trip.start).checklist.lap

    found = {one.key: one.done_on for stop in lap for one in stop.checks}
    assert found["walk_departure"] is None
    assert found["hitch_up_ball"] == date(2026, 5, 9)


def test_look_has_its_gravest_caution_and_the_last_lap_all_with_its_steps(trip, coach):
    procedures = load_library().procedures

    looks = [
        one for stop in trip_sheet(trip, TODAY).checklist.lap for one in stop.checks
    ]

    nuts, _lights, last = looks
    assert nuts.cautions == procedures["lug_look"].cautions[:1]
    assert nuts.steps == ()
    assert last.cautions == procedures["walk_departure"].cautions
    assert last.steps == procedures["walk_departure"].steps


def test_each_of_two_alarms_has_its_look(trip, coach):
    for name in ("Smoke alarm, front", "Smoke alarm, rear"):
        alarm = Component.objects.create(
            household=coach.household, rig=coach, kind="alarm", type="smoke", name=name
        )
        builders.make_item(
            coach, "smoke_alarm_test", triggers=LAP, title=name, component=alarm
        )

    inside = trip_sheet(trip, TODAY).checklist.lap[0]

    assert [(one.title, one.minutes) for one in inside.checks] == [
        ("Smoke alarm, front", 1),
        ("Smoke alarm, rear", 1),
    ]


def test_own_check_before_each_trip_stands_by_itself(trip, coach):
    rule = [{"before_trip": {"lead": 3}}]
    builders.make_item(coach, "our_bikes", triggers=rule, title="Bikes")

    checklist = trip_sheet(trip, TODAY).checklist

    assert names(checklist.days_before) == {"Your own checks": ["our_bikes"]}


def test_page_says_how_long_the_lap_takes(client, trip, coach):
    builders.make_item(coach, "walk_departure", triggers=LAP)

    text = client.get(reverse("trip", args=[trip.pk])).text

    assert "8 minutes in all." in text  # lugs 2, lights 2, last lap 4


def test_load_is_added_up_with_its_parts(trip):
    trip.people, trip.water, trip.cargo = 2, Decimal(50), Decimal(900)

    load = trip_sheet(trip, TODAY).load

    assert load.total == 300 + 415 + 900  # 50 gal at 8.3 lb: road.md, checks 4
    assert load.shown == "1,615 lb"
    assert load.parts[1] == ("Fresh water", "50 gal = 415 lb")


@pytest.mark.parametrize(
    ("kind", "capacity", "words", "over"),
    [
        ("occc", 2000, "385 lb left of the label's 2,000 lb for people", False),
        ("occc", 1500, "115 lb over the label's 1,500 lb for people", True),
        ("ccc", 1500, "185 lb left of the label's 1,500 lb for cargo", False),
    ],
)
def test_load_stands_against_the_label_by_its_kind(trip, kind, capacity, words, over):
    trip.people, trip.water, trip.cargo = 2, Decimal(50), Decimal(900)
    WeightLabel.objects.create(rig=trip.rig, unit="lb", kind=kind, capacity=capacity)

    load = trip_sheet(trip, TODAY).load

    assert words in load.label
    assert load.over is over


def test_sheet_asks_the_same_of_the_database_for_many_items(
    client, trip, coach, django_assert_num_queries, django_assert_max_num_queries
):
    def make(n, start=0):
        for i in range(start, start + n):
            done(builders.make_item(coach, f"thing_{i}", triggers=OIL))

    make(2)
    with django_assert_max_num_queries(45) as few:
        client.get(reverse("trip", args=[trip.pk]))
    make(30, start=2)
    with django_assert_num_queries(len(few)):
        client.get(reverse("trip", args=[trip.pk]))
