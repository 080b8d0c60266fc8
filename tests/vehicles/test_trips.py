"""Trips: what is refused, what they credit, and where one vehicle is on two at once."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.core.facts import Calendar
from maintenance.core.timeline import RigTimeline
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Standing
from maintenance.plans.queries import load_rigs
from maintenance.plans.standings import recheck
from maintenance.vehicles import trips
from maintenance.vehicles.models import Reading, Stay, Trip
from maintenance.vehicles.services import record_reading, report_event
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def trailer(keeper):
    meter = {"kind": "towed", "unit": "mi"}
    return builders.make_rig(
        keeper.household, name="Fern", kind="travel_trailer", meter=meter
    )


@pytest.fixture
def pickup(keeper):
    return builders.make_rig(keeper.household, name="Mule", kind="tow_vehicle")


def plan(rig, by, start, end, distance="300", **more):
    given = None if distance is None else Decimal(distance)
    return trips.plan_trip(
        rig,
        by=by,
        today=TODAY,
        start=date.fromisoformat(start),
        end=date.fromisoformat(end),
        distance=given,
        **more,
    )


def planned_before(rig, by, tow, start="2026-04-01", end="2026-04-09"):
    """A trip that was planned in March."""
    return trips.plan_trip(
        rig,
        by=by,
        today=date(2026, 3, 20),
        start=date.fromisoformat(start),
        end=date.fromisoformat(end),
        distance=Decimal(300),
        tow_vehicle=tow,
    )


def drive(rig, by, tow, start, end, low, high, **more):
    """A past trip, told by the odometer."""
    span = {"hitched_at": Decimal(low), "unhitched_at": Decimal(high)}
    return plan(rig, by, start, end, None, tow_vehicle=tow, **span, **more)


def towed(rig, as_of=TODAY):
    day = RigTimeline(load_rigs([rig], as_of)[rig.pk], Calendar(), as_of)
    return day.tracks["towed"].known


# --- refused --------------------------------------------------------------------------


def test_trip_without_a_distance_is_asked_for_it_with_the_plausible_range(
    keeper, trailer
):
    with pytest.raises(Refused, match=r"How far .* 1 mi to 4,500 mi") as refusal:
        plan(trailer, keeper, "2026-06-01", "2026-06-03", None)
    assert refusal.value.field == "distance"


@pytest.mark.parametrize("distance", ["0", "0.4", "3000.1", "90000"])
def test_distance_that_cannot_be_is_refused(keeper, trailer, distance):
    with pytest.raises(Refused, match="2 days, enter 1 mi to 3,000 mi") as refusal:
        plan(trailer, keeper, "2026-06-01", "2026-06-02", distance)
    assert refusal.value.field == "distance"
    assert not Trip.objects.exists()


def test_plausible_range_goes_by_the_unit(keeper, trailer):
    trip = plan(trailer, keeper, "2026-06-01", "2026-06-01", "2400", unit="km")

    assert trip.distance == 2400


def test_trip_inside_a_stay_is_refused_with_both_named_and_a_way_out(keeper, trailer):
    Stay.objects.create(
        rig=trailer,
        start=date(2026, 3, 1),
        planned_until=date(2026, 6, 20),
        place="Barn",
    )

    with pytest.raises(Refused) as refusal:
        plan(trailer, keeper, "2026-06-01", "2026-06-08", title="Elk Lake")

    assert refusal.value.text == (
        "Fern is in storage Mar 1 \N{EN DASH} Jun 20, 2026 (Barn), and Elk Lake is "
        "Jun 1\N{EN DASH}8, 2026. Start on Jun 20, 2026 or later, or end that "
        "storage by Jun 1, 2026, under Storage."
    )
    assert plan(trailer, keeper, "2026-06-20", "2026-06-28").pk


def test_stay_without_an_end_is_named_too(keeper, trailer):
    Stay.objects.create(rig=trailer, start=date(2026, 3, 1))

    with pytest.raises(Refused, match=r"with no end date, .* End that storage"):
        plan(trailer, keeper, "2026-06-01", "2026-06-08")


def test_stay_of_the_tow_vehicle_is_in_the_way_too(keeper, trailer, pickup):
    Stay.objects.create(rig=pickup, start=date(2026, 3, 1))

    with pytest.raises(Refused, match="Mule is in storage"):
        plan(trailer, keeper, "2026-06-01", "2026-06-08", tow_vehicle=pickup)


def test_odometer_of_a_trip_still_to_come_is_refused(keeper, trailer, pickup):
    with pytest.raises(Refused, match="t started yet"):
        drive(trailer, keeper, pickup, "2026-06-01", "2026-06-02", 100, 200)


def test_viewer_plans_no_trip(keeper, trailer):
    viewer = builders.make_member(keeper.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        plan(trailer, viewer, "2026-06-01", "2026-06-08")


# --- meters ---------------------------------------------------------------------------


def test_two_trips_over_the_same_miles_count_once_and_are_named(
    keeper, trailer, pickup
):
    drive(
        trailer, keeper, pickup, "2026-04-01", "2026-04-03", 10000, 10400, title="Elk"
    )
    second = drive(
        trailer, keeper, pickup, "2026-04-10", "2026-04-12", 10300, 10600, title="Pine"
    )

    assert towed(trailer) == 600
    (words,) = trips.overlap_words(second)
    assert "“Pine” of Fern, Apr 10\N{EN DASH}12, 2026 (10,300 to 10,600)" in words
    assert "“Elk” of Fern, Apr 1\N{EN DASH}3, 2026 (10,000 to 10,400)" in words
    assert "Together they count 600 mi, not 700 mi." in words


def test_one_vehicle_on_two_planned_trips_at_once_is_told(keeper, trailer, pickup):
    plan(trailer, keeper, "2026-06-01", "2026-06-08", tow_vehicle=pickup, title="Elk")
    second = plan(pickup, keeper, "2026-06-08", "2026-06-10", title="Fetch hay")
    assert list(trips.overlap_words(second)) == []  # one ends when the other begins

    trips.change_trip(second, by=keeper, today=TODAY, start=date(2026, 6, 7))

    (words,) = trips.overlap_words(second)
    assert words.startswith("Mule would be on two trips at once: “Fetch hay”")


def test_odometer_in_another_unit_than_the_trailers_meter(keeper, trailer):
    pickup = builders.make_rig(
        keeper.household, kind="tow_vehicle", meter={"kind": "odometer", "unit": "km"}
    )
    trip = drive(trailer, keeper, pickup, "2026-04-01", "2026-04-03", 1000, 1804.7)

    assert trip.distance == Decimal("500.0")  # mi; 804.7 km
    assert round(towed(trailer)) == 500


def test_figures_are_readings_of_the_vehicle_that_drives(keeper, trailer, pickup):
    drive(trailer, keeper, pickup, "2026-04-01", "2026-04-03", 10000, 10400)

    rows = Reading.objects.filter(meter__rig=pickup, withdrawn=False)
    assert [(row.on.day, row.value) for row in rows] == [(1, 10000), (3, 10400)]


def test_editing_a_trip_reckons_both_meters_anew(keeper, trailer, pickup):
    trip = drive(trailer, keeper, pickup, "2026-04-01", "2026-04-03", 10000, 10400)

    trips.change_trip(trip, by=keeper, today=TODAY, unhitched_at=Decimal(10450))

    assert towed(trailer) == 450
    rows = Reading.objects.filter(meter__rig=pickup, withdrawn=False)
    assert [row.value for row in rows] == [10000, 10450]
    assert Reading.objects.filter(withdrawn=True).count() == 1


def test_another_tow_vehicle_then_nothing_is_touched_until_it_is_answered(
    keeper, trailer, pickup
):
    other = builders.make_rig(keeper.household, kind="tow_vehicle")
    trip = drive(trailer, keeper, pickup, "2026-04-01", "2026-04-03", 10000, 10400)

    with pytest.raises(Refused, match="whose are they"):
        trips.change_trip(trip, by=keeper, today=TODAY, tow_vehicle=other)

    kept = Reading.objects.filter(withdrawn=False)
    assert {row.meter.rig for row in kept} == {pickup}
    trip.refresh_from_db()
    assert trip.tow_vehicle == pickup


@pytest.mark.parametrize(
    ("answer", "whose", "span"),
    [
        ("theirs", "Mule", (None, None)),
        ("moved", "Juniper", (10000, 10400)),
        ("wrong", None, (None, None)),
    ],
)
def test_figures_go_where_the_answer_says(
    keeper, trailer, pickup, client_as, answer, whose, span
):
    other = builders.make_rig(keeper.household, name="Juniper", kind="tow_vehicle")
    trip = drive(trailer, keeper, pickup, "2026-04-01", "2026-04-03", 10000, 10400)
    browser, url = client_as(keeper), reverse("change_trip", args=[trip.pk])
    assert "figures_of" not in browser.get(url).content.decode()
    data = {
        "title": "Elk",
        "start": "2026-04-01",
        "end": "2026-04-03",
        "distance": "400",
        "unit": "mi",
        "tow_vehicle": other.pk,
    }

    asked = browser.post(url, data).content.decode()
    assert "Juniper&#x27;s: move them from Mule to Juniper" in asked
    browser.post(url, data | {"figures_of": answer})

    trip.refresh_from_db()
    assert (trip.tow_vehicle, trip.distance) == (other, 400)
    assert (trip.hitched_at, trip.unhitched_at) == span
    rigs = {row.meter.rig.name for row in Reading.objects.filter(withdrawn=False)}
    assert rigs == ({whose} if whose else set())


def test_figures_that_do_not_fit_the_other_vehicle_are_not_given_to_it(
    keeper, trailer, pickup, client_as
):
    other = builders.make_rig(keeper.household, name="Juniper", kind="tow_vehicle")
    builders.make_reading(other, date(2026, 3, 1), 90000)
    trip = drive(trailer, keeper, pickup, "2026-04-01", "2026-04-03", 10000, 10400)
    data = {
        "start": "2026-04-01",
        "end": "2026-04-03",
        "distance": "400",
        "unit": "mi",
        "tow_vehicle": other.pk,
        "figures_of": "moved",
    }

    answer = client_as(keeper).post(reverse("change_trip", args=[trip.pk]), data)

    assert "doesn&#x27;t fit 90,000 mi" in answer.content.decode()
    assert other.meters.get().readings.count() == 1


def test_how_it_went_takes_the_place_of_what_was_planned(keeper, trailer, pickup):
    trip = planned_before(trailer, keeper, pickup)
    assert trips.nobody_told(trip, TODAY)

    trips.tell_trip(
        trip,
        by=keeper,
        today=TODAY,
        end=date(2026, 4, 10),
        hitched_at=Decimal(5000),
        unhitched_at=Decimal(5420),
        distance=Decimal(300),
    )

    assert (trip.distance, towed(trailer)) == (420, 420)
    assert not trips.nobody_told(trip, TODAY)


def test_trip_that_is_not_over_is_not_told_of(keeper, trailer):
    trip = plan(trailer, keeper, "2026-05-01", "2026-05-09")

    with pytest.raises(Refused, match="still to come"):
        trips.tell_trip(trip, by=keeper, today=TODAY, end=date(2026, 5, 9))


# --- a car towed behind ---------------------------------------------------------------


@pytest.mark.parametrize(("counts", "expected"), [(True, 1800), (False, 0)])
def test_odometer_of_a_towed_car_counts_if_the_owner_says_so(keeper, counts, expected):
    coach = builders.make_rig(keeper.household, name="Coach")
    car = builders.make_rig(keeper.household, kind="towed_car")
    builders.make_reading(car, TODAY, 30000)
    plan(
        coach,
        keeper,
        "2026-05-10",
        "2026-05-27",
        "1800",
        towed_car=car,
        towed_car_counts=counts,
    )

    day = RigTimeline(load_rigs([car], TODAY)[car.pk], Calendar(), TODAY)
    band = day.use("odometer").band(date(2026, 6, 1))

    assert (round(band[-1][2]) - 30000 if band else 0) == expected


def test_car_towed_behind_is_on_the_way_for_what_is_due_before_a_trip(keeper):
    coach = builders.make_rig(keeper.household, name="Coach")
    car = builders.make_rig(keeper.household, kind="towed_car")
    item = builders.make_item(car, "tow_bar_check", triggers=[{"before_trip": {}}])

    plan(coach, keeper, "2026-05-06", "2026-05-27", "1800", towed_car=car)

    item.refresh_from_db()
    assert item.standing.standing == "due"


def test_towed_distance_of_a_car_counts_though_its_odometer_stands_still(keeper):
    coach = builders.make_rig(keeper.household, name="Coach")
    meter = {"kind": "towed", "unit": "mi"}
    car = builders.make_rig(keeper.household, kind="towed_car", meter=meter)

    plan(coach, keeper, "2026-04-06", "2026-04-27", "1800", towed_car=car)

    assert towed(car) == 1800


# --- a trailer counts by what tows it -------------------------------------------------


def lug_recheck(rig):
    check = {"event": "wheel_off", "distance": [50, 100], "unit": "mi"}
    return builders.make_item(
        rig,
        "lug_recheck",
        safety=True,
        triggers=[{"after": {**check, "meter": "towed"}}],
    )


def test_a_reading_of_the_tow_vehicle_renews_the_trailer_on_the_way(
    keeper, trailer, pickup
):
    item = lug_recheck(trailer)
    planned_before(trailer, keeper, pickup, "2026-05-02", "2026-05-29")
    odometer = pickup.meters.get()
    for day, value in ((1, 57000), (2, 57000)):
        on = date(2026, 5, day)
        record_reading(odometer, by=keeper, today=TODAY, on=on, value=Decimal(value))
    report_event(trailer, by=keeper, today=TODAY, kind="wheel_off", on=date(2026, 5, 1))
    assert Standing.objects.get(item=item).expected

    record_reading(odometer, by=keeper, today=TODAY, on=TODAY, value=Decimal(57130))

    found = Standing.objects.get(item=item)
    assert (found.standing, found.expected) == ("overdue", False)
    assert recheck(keeper.household, as_of=TODAY) == []


def test_a_distance_that_nobody_told_is_no_known_one(keeper, trailer, pickup):
    planned_before(trailer, keeper, pickup)
    assert towed(trailer) == 0


def test_a_trip_entered_when_it_was_over_is_told(keeper, trailer, pickup):
    plan(trailer, keeper, "2026-04-01", "2026-04-09", tow_vehicle=pickup)
    assert towed(trailer) == 300


def test_a_trip_told_on_its_last_day_counts_that_day(keeper, trailer, pickup):
    trip = planned_before(trailer, keeper, pickup, "2026-05-02", "2026-05-04")
    trips.tell_trip(trip, by=keeper, today=TODAY, end=TODAY, distance=Decimal(280))
    assert towed(trailer) == 280


# --- a side trip without the trailer --------------------------------------------------


def test_side_trip_without_the_trailer_then_it_does_not_count_on_it(
    keeper, trailer, pickup, clock, client_as
):
    """57,000 to 57,410 with 50 of it unhitched: 360 towed."""
    clock("2026-05-04 12:00", "America/Denver")
    builders.make_reading(pickup, date(2026, 4, 1), 57_000)
    trip = planned_before(trailer, keeper, pickup)
    url = reverse("tell_trip", args=[trip.pk])
    told = {"end": "2026-04-09", "hitched_at": "57000", "unhitched_at": "57410"}

    refused = client_as(keeper).post(url, told | {"off": "411"})
    assert "That&#x27;s more than the whole trip, 410 mi." in refused.text
    client_as(keeper).post(url, told | {"off": "50"})

    trip.refresh_from_db()
    assert (trip.distance, towed(trailer)) == (360, 360)
