"""The gate loads the readings next to a day, and says what all of them would say."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.core.meters import judge_value
from maintenance.vehicles.gate import Typed, judge
from maintenance.vehicles.models import Event, Meter, Reading
from maintenance.vehicles.queries import meter_beside, meters_of_rig
from tests import builders

FIRST, MANY = date(2024, 1, 1), 700
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def driven(shared):
    with shared(make_odometer, at="2026-05-04 12:00") as (meter, _files):
        yield meter.pk


@pytest.fixture
def odometer(driven, db):
    return Meter.objects.get(pk=driven)


def make_odometer():
    """A slow year, then a fast one; some entered late, questionable or taken back."""
    rig = builders.make_rig(builders.make_household())
    meter = rig.meters.get()
    event = Event.objects.create(rig=rig, kind="hail", on=FIRST + 350 * DAY)
    value, rows = Decimal(1000), []
    for n in range(MANY):
        value += 5 if n < 365 else 90
        rows.append(
            Reading(
                meter=meter,
                on=FIRST + n * DAY,
                value=value if n % 50 else value + 40_000,
                withdrawn=n % 150 == 0,
                questionable=n % 100 == 0,
                event=event if n == 350 else None,
            )
        )
    Reading.objects.bulk_create([*rows[300:], *rows[:300]])
    meter.replacements.create(
        on=FIRST + 500 * DAY, old_final=rows[500].value, new_start=rows[500].value
    )
    return meter


@pytest.mark.parametrize("after", [-5, 0, 1, 120, 200, 350, 366, 400, 650, 699, 760])
@pytest.mark.parametrize("gain", [-3000, 0, 60, 3000, 90_000])
def test_gate_says_what_all_readings_would_say(odometer, after, gain):
    on = FIRST + after * DAY
    here = odometer.readings.filter(on__lte=on).order_by("on").last()
    shown = max((here.value if here else Decimal(1000)) + gain, Decimal(0))
    typed = Typed(odometer, on, shown)
    whole = meters_of_rig(odometer.rig)["odometer"]

    assert judge(typed) == judge_value(whole, typed.reading)


def test_readings_in_place_of_which_it_stands_are_not_looked_at(odometer):
    ids = list(
        odometer.readings.filter(on=FIRST + 10 * DAY).values_list("pk", flat=True)
    )

    found = meter_beside(odometer, FIRST + 10 * DAY, without=ids)

    assert FIRST + 10 * DAY not in {one.on for one in found.readings}


def test_thousands_of_readings_then_as_few_are_loaded(odometer):
    found = meter_beside(odometer, FIRST + 400 * DAY)

    assert len(found.readings) <= 251
    assert replace(found, readings=()) == replace(
        meters_of_rig(odometer.rig)["odometer"], readings=(), taken_back=()
    )


def test_other_rig_s_meter_is_offered(odometer):
    other = builders.make_rig(odometer.rig.household, name="Wren")
    builders.make_reading(other, FIRST + 600 * DAY, 7_000)
    shown = odometer.readings.get(on=FIRST + 601 * DAY).value
    assert shown > 20_000

    verdict = judge(Typed(odometer, FIRST + 601 * DAY, Decimal(7_100)))

    assert "Wren" in [one.rig for one in verdict.intended]
