"""What the library says of an item is in the facts that the reckoning takes."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.plans.models import Completion, Standing
from maintenance.plans.queries import following, load_rigs
from maintenance.plans.standings import recheck, renew_household
from maintenance.service_records.work import Line
from maintenance.vehicles.models import MeterReplacement
from maintenance.vehicles.services import report_event
from tests import builders
from tests.builders import TODAY

YEARLY = [{"every": {"months": 12}}]


@pytest.fixture
def keeper(db):
    return builders.make_member()


def stand(item):
    renew_household(item.rig.household, as_of=TODAY)
    return Standing.objects.get(item=item)


def complete(item, on, places=None, **values):
    Completion.objects.create(
        item=item, on=on, outcome="done", places=places, values=values
    )


def test_bearings_done_at_three_wheels_leave_the_fourth_open(keeper):
    meter = {"kind": "towed", "unit": "mi"}
    trailer = builders.make_rig(keeper.household, kind="travel_trailer", meter=meter)
    item = builders.make_item(trailer, "bearing_repack", triggers=YEARLY)
    complete(item, date(2025, 3, 1))
    *three, fourth = trailer.places
    complete(item, date(2026, 4, 1), places=three)

    found = stand(item)

    assert found.standing == "overdue"
    assert [row["places"] for row in found.result["pending"]] == [
        [fourth],
        sorted(three),
    ]
    assert found.why[0] == ["at_places", {"places": [fourth]}]
    assert recheck(keeper.household, as_of=TODAY) == []


def test_an_item_that_the_library_does_not_count_by_place_is_one(keeper):
    rig = builders.make_rig(keeper.household)
    item = builders.make_item(rig, "engine_oil", triggers=YEARLY)
    complete(item, date(2026, 4, 1), places=rig.places[:1])
    assert [row["places"] for row in stand(item).result["pending"]] == [None]


def test_a_new_generator_takes_its_first_oil_change_again(keeper):
    rig = builders.make_rig(keeper.household, meter={"kind": "generator", "unit": "h"})
    every = {"every": {"hours": 150, "meter": "generator"}, "first": {"hours": 20}}
    item = builders.make_item(rig, "generator_oil", triggers=[every])
    builders.make_reading(rig, date(2026, 1, 10), 890, kind="generator")
    complete(item, date(2026, 1, 10), generator="890")
    MeterReplacement.objects.create(
        meter=rig.meters.get(),
        on=date(2026, 4, 10),
        old_final=Decimal(900),
        new_start=Decimal(0),
    )
    builders.make_reading(rig, date(2026, 5, 1), 12, kind="generator")

    report_event(
        rig,
        by=keeper,
        today=TODAY,
        kind="generator_replaced",
        on=date(2026, 4, 10),
        values={"generator": Decimal(0)},
    )

    assert stand(item).result["window"] == {
        "opens": {"meter": "generator", "value": 18},
        "closes": {"meter": "generator", "value": 20},
    }


def test_the_tow_vehicle_of_a_trailer_is_among_its_facts(keeper):
    meter = {"kind": "towed", "unit": "mi"}
    trailer = builders.make_rig(keeper.household, kind="travel_trailer", meter=meter)
    mule = builders.make_rig(keeper.household, name="Mule", kind="tow_vehicle")
    builders.make_reading(mule, date(2026, 5, 1), 57000)
    mule.tows.create(
        rig=trailer,
        start=date(2026, 5, 2),
        end=date(2026, 5, 20),
        distance=Decimal(900),
    )

    facts = load_rigs([trailer], TODAY)[trailer.pk]

    (trip,) = facts.trips
    assert trip.planned
    (reading,) = facts.tow_vehicles[trip.tow].odometer.readings
    assert reading.value == 57000


def test_an_event_before_the_plan_brings_on_what_was_still_open(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 5, 2), 42310)
    check = {"event": "wheel_off", "unit": "mi", "meter": "odometer"}
    late = [{"after": {**check, "distance": [50, 100]}}]
    item = builders.make_item(
        rig, "lug_recheck", triggers=late, taken_on=date(2026, 5, 3)
    )
    over = [{"after": {"event": "wheel_off", "days": [0, 1]}}]
    builders.make_item(rig, "was_over", triggers=over, taken_on=date(2026, 5, 3))

    event = report_event(
        rig,
        by=keeper,
        today=TODAY,
        kind="wheel_off",
        on=date(2026, 5, 1),
        values={"odometer": Decimal(42300)},
    )

    assert following(event) == [item]


def test_a_check_on_the_road_counts_by_the_tow_vehicles_odometer(keeper):
    meter = {"kind": "towed", "unit": "mi"}
    trailer = builders.make_rig(keeper.household, kind="travel_trailer", meter=meter)
    mule = builders.make_rig(keeper.household, name="Mule", kind="tow_vehicle")
    builders.make_reading(mule, date(2026, 5, 2), 57000)
    mule.tows.create(
        rig=trailer,
        start=date(2026, 5, 2),
        end=date(2026, 5, 20),
        distance=Decimal(900),
    )
    check = {"event": "wheel_off", "unit": "mi", "meter": "towed"}
    item = builders.make_item(
        trailer,
        "lug_recheck",
        safety=True,
        triggers=[{"after": {**check, "distance": [50, 100]}}],
    )
    report_event(trailer, by=keeper, today=TODAY, kind="wheel_off", on=date(2026, 5, 1))
    assert stand(item).standing == "due"

    record = builders.log_work(
        trailer,
        by=keeper,
        on=date(2026, 5, 3),
        lines=[Line("Lugs", item, "held")],
        values={"tow_odometer": Decimal(57060)},
    )

    assert stand(item).standing == "waiting"
    assert record.values == {"tow_odometer": "57060"}
    assert not trailer.meters.get().readings.exists()
