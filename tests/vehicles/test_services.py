from datetime import date
from decimal import Decimal

import pytest

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.vehicles import services
from maintenance.vehicles.models import Reading, Stay
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def give(rig, by, on, value, **more):
    meter = rig.meters.get(kind="odometer")
    return services.record_reading(
        meter, by=by, today=TODAY, on=on, value=Decimal(value), **more
    )


def test_add_rig_keeps_meters_and_what_they_show_today(keeper):
    rig = services.add_rig(
        keeper,
        today=TODAY,
        meters=[{"kind": "odometer", "unit": "km", "today_value": Decimal(5)}],
        name="Juniper",
        kind="campervan",
        wheels="four",
        in_service_on=date(2020, 1, 1),
    )

    reading = Reading.objects.get(meter__rig=rig)
    assert (reading.on, reading.value, reading.meter.unit) == (TODAY, 5, "km")


def test_add_rig_refuses_a_second_one_of_the_same_name(keeper, rig):
    with pytest.raises(Refused, match="already a rig with this name") as refusal:
        services.add_rig(
            keeper,
            today=TODAY,
            meters=[],
            name=rig.name,
            kind="campervan",
            wheels="four",
            in_service_on=date(2020, 1, 1),
        )
    assert refusal.value.field == "name"


def test_add_rig_refuses_a_day_to_come(keeper):
    with pytest.raises(Refused, match="still to come"):
        services.add_rig(
            keeper,
            today=TODAY,
            meters=[],
            name="Juniper",
            kind="campervan",
            wheels="four",
            in_service_on=date(2027, 1, 1),
        )


def test_hour_meter_in_miles_is_refused(rig):
    with pytest.raises(Refused, match="doesn't count in that unit"):
        services.add_meter(rig, kind="generator", unit="mi")


def test_reading_that_falls_back_is_marked_doubtful(keeper, rig):
    give(rig, keeper, date(2026, 1, 1), 40000)
    give(rig, keeper, date(2026, 3, 1), 42000)
    low = give(rig, keeper, date(2026, 4, 1), 4100)

    low.refresh_from_db()
    assert low.doubtful
    assert Reading.objects.filter(doubtful=True).count() == 1


def test_confirming_a_doubtful_reading_makes_the_others_doubtful(keeper, rig):
    first = give(rig, keeper, date(2026, 1, 1), 40000)
    low = give(rig, keeper, date(2026, 4, 1), 4100)

    services.confirm_reading(low, by=keeper, today=TODAY)

    first.refresh_from_db()
    low.refresh_from_db()
    assert (first.doubtful, low.doubtful) == (True, False)


def test_reading_of_a_day_to_come_is_refused(keeper, rig):
    with pytest.raises(Refused, match="still to come"):
        give(rig, keeper, date(2026, 5, 5), 42000)
    assert not Reading.objects.exists()


def test_reading_needs_crew(keeper, rig):
    viewer = builders.make_member(keeper.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        give(rig, viewer, TODAY, 42000)


def test_stay_that_overlaps_is_refused_with_the_other_named(keeper, rig):
    services.start_stay(
        rig,
        by=keeper,
        today=TODAY,
        start=date(2025, 11, 5),
        planned_until=date(2026, 6, 1),
    )
    with pytest.raises(Refused, match="in storage since Nov 5, 2025"):
        services.start_stay(rig, by=keeper, today=TODAY, start=date(2026, 3, 1))


def test_stay_may_begin_on_the_day_the_other_ended(keeper, rig):
    Stay.objects.create(rig=rig, start=date(2026, 1, 1), ended_on=date(2026, 3, 1))

    services.start_stay(rig, by=keeper, today=TODAY, start=date(2026, 3, 1))

    assert rig.stays.count() == 2


def test_stay_cannot_end_before_it_began(keeper, rig):
    stay = Stay.objects.create(rig=rig, start=date(2026, 3, 1))

    with pytest.raises(Refused, match="Enter that day or a later one"):
        services.end_stay(stay, by=keeper, today=TODAY, ended_on=date(2026, 2, 1))


def test_event_at_a_wheel_that_the_rig_lacks_is_refused(keeper, rig):
    with pytest.raises(Refused, match="no wheel at L3"):
        services.report_event(
            rig, by=keeper, today=TODAY, kind="wheel_off", on=TODAY, places=["L3"]
        )
    assert not rig.events.exists()


def test_event_of_an_unknown_kind_is_refused(keeper, rig):
    with pytest.raises(Refused, match="isn't a known event"):
        services.report_event(rig, by=keeper, today=TODAY, kind="eaten", on=TODAY)
