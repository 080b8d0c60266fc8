"""What a trip asks for: where, by which day and by which mile."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.facts import (
    Baseline,
    Calendar,
    Completion,
    Event,
    Item,
    Meter,
    Reading,
    Rig,
    Span,
    Trip,
)
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.before_trip import BeforeTrip
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.tripwork import look_ahead
from maintenance.core.units import convert

AS_OF = date(2026, 5, 4)
TRIP = Trip(date(2026, 5, 10), date(2026, 5, 27), Decimal(1800), "mi")  # 100 mi a day


def every(distance, unit="mi", meter="odometer"):
    return EveryMeter(meter, unit, Decimal(distance))


def item(*triggers, done=None, at=None, meter="odometer", **more):
    ends = ()
    if done is not None:
        values = {} if at is None else {meter: Decimal(at)}
        ends = (Completion(date.fromisoformat(done), values=values),)
    return Item("it", tuple(triggers), done=ends, **more)


def look(*items, trip=TRIP, meter=None, as_of=AS_OF, **more):
    """A rig that stands at 40,000 mi and is driven on trips alone."""
    meters = {"odometer": meter or Meter("mi", (Reading(AS_OF, Decimal(40000)),))}
    rig = Rig(meters, tuple(items), trips=(trip,), **more)
    return look_ahead(rig, trip, calendar=Calendar(), as_of=as_of)


def job(*args, **more):
    (found,) = look(*args, **more).jobs
    return found


@pytest.mark.parametrize(
    ("interval", "place", "mile"),
    [
        (950, "road", 950),  # closes on the tenth day
        (1799, "road", 1799),
        (1900, "after", 1900),  # opens at 1,710
        (40, "before", 40),  # open when it leaves: opens 4 mi before that
    ],
)
def test_place_goes_by_the_mile_at_which_it_closes(interval, place, mile):
    # Done at 40,000; the least leads make 40 mi open on the first day only.
    found = job(item(every(interval), done="2026-05-04", at=40000))

    if interval == 40:
        assert found.from_mile == 36
    else:
        assert found.place == place
    assert found.by_mile == mile


def test_day_on_the_road_is_that_of_its_mile():
    found = job(item(every(950), done="2026-05-04", at=40000))

    assert (found.closes, found.by_mile) == (date(2026, 5, 19), 950)
    assert (found.opens, found.from_mile) == (date(2026, 5, 18), 855)


def test_what_is_open_on_leaving_and_closes_on_the_way_is_done_before():
    # Opens at 39,900 and closes at 40,400: on the fourth day.
    found = job(item(every(5000), done="2025-10-01", at=35400))

    assert (found.place, found.can_now, found.by_mile) == ("before", True, 400)


def test_what_cannot_come_before_the_end_is_not_listed():
    assert look(item(every(5000), done="2026-05-04", at=40000)).jobs == ()


def test_meter_in_kilometers_is_told_in_the_miles_of_the_trip():
    meter = Meter("km", (Reading(AS_OF, Decimal(60000)),))
    found = job(item(every(1000, "km"), done="2026-05-04", at=60000), meter=meter)

    assert round(found.by_mile, 1) == round(convert(Decimal(1000), "km", "mi"), 1)
    assert found.closes == date(2026, 5, 16)  # 621 mi


def test_trip_in_kilometers_tells_kilometers():
    trip = replace(TRIP, distance=Decimal(1800), unit="km")
    found = job(item(every(500), done="2026-05-04", at=40000), trip=trip)

    assert round(found.by_mile) == 805  # km, 500 mi
    assert found.closes == date(2026, 5, 18)


def test_trailer_goes_by_what_it_is_towed_also_on_its_first_trip():
    rig = Rig(
        {"towed": Meter("mi")},
        (item(every(500, meter="towed"), baseline=Baseline(AS_OF)),),
        trips=(TRIP,),
    )

    (found,) = look_ahead(rig, TRIP, calendar=Calendar(), as_of=AS_OF).jobs

    assert (found.place, found.by_mile, found.closes) == (
        "road",
        500,
        date(2026, 5, 14),
    )
    assert found.again == 2  # at 1,000 and 1,500 mi


def test_towed_car_whose_odometer_stands_still_is_asked_nothing_by_it():
    trip = replace(TRIP, only_towed=True)

    assert look(item(every(500), done="2026-05-04", at=40000), trip=trip).jobs == ()


def test_day_windows_go_by_their_days():
    yearly = EveryTime(Span(months=12))
    on_way = job(item(yearly, done="2025-06-20"))  # opens 21 May
    during = job(item(EveryTime(Span(days=10)), done="2026-05-04"))

    assert (on_way.place, on_way.closes) == ("after", date(2026, 6, 20))
    assert (during.place, during.closes, during.by_mile) == (
        "road",
        date(2026, 5, 14),
        None,
    )
    assert during.again == 1  # on 24 May


def test_lug_recheck_stands_with_its_miles():
    off = Event("wheel_off", AS_OF, {"odometer": Decimal(40000)})
    recheck = After("wheel_off", ((Decimal(50), Decimal(100)),), "odometer", "mi")

    found = job(item(recheck, safety=True), events=(off,))

    assert (found.from_mile, found.by_mile) == (50, 100)


def test_check_before_every_trip_is_told_apart_with_the_day_it_was_done():
    before = BeforeTrip(lead=3)
    open_ = look(item(before))
    done = look(item(before, done="2026-05-08"), as_of=date(2026, 5, 9))
    too_early = look(item(before, done="2026-05-01"))

    assert open_.jobs == ()
    (check,) = open_.checks
    assert (check.opens, check.done_on) == (date(2026, 5, 7), None)
    assert done.checks[0].done_on == date(2026, 5, 8)
    assert too_early.checks[0].done_on is None


def test_check_belongs_to_this_trip_also_when_another_comes_first():
    sooner = Trip(date(2026, 5, 5), date(2026, 5, 6), Decimal(50))
    rig = Rig({}, (item(BeforeTrip(lead=1)),), trips=(sooner, TRIP))

    (check,) = look_ahead(rig, TRIP, calendar=Calendar(), as_of=AS_OF).checks

    assert check.opens == date(2026, 5, 9)


@pytest.mark.parametrize("kind", ["safety", "unfit", "paper"])
def test_item_that_stops_without_a_record_is_for_before_others_are_counted(kind):
    yearly = EveryTime(Span(months=12))
    found = look(item(yearly, **{kind: True}), replace(item(yearly), key="other"))

    assert [(one.key, one.place, one.unknown) for one in found.jobs] == [
        ("it", "before", True)
    ]
    assert found.no_record == 1


def test_trip_under_way_is_looked_at_from_today():
    half = date(2026, 5, 20)
    meter = Meter(
        "mi", (Reading(date(2026, 5, 9), Decimal(40000)), Reading(half, Decimal(41000)))
    )
    found = job(item(every(1500), done="2026-05-09", at=40000), meter=meter, as_of=half)

    assert (found.place, found.by_mile) == ("road", 1500)
