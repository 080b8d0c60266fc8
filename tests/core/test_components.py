"""What a part has used over several rigs, and what it carries along to the next."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.components import Fitted, carry, days_in_use, present_run, used
from maintenance.core.dates import InUse
from maintenance.core.facts import (
    Calendar,
    Carry,
    Completion,
    Item,
    Meter,
    Reading,
    Replacement,
    Rig,
    Span,
    Stay,
    Trip,
)
from maintenance.core.meters import track_meter, track_towed, track_wheels
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime

AS_OF = date(2026, 6, 1)


def day(text: str) -> date:
    return date.fromisoformat(text)


def meter(unit: str, *readings: tuple[str, int], replaced=()) -> Meter:
    found = tuple(Reading(day(on), Decimal(value)) for on, value in readings)
    return Meter(unit, found, tuple(replaced))


def fitted(start, end, stays=(), start_values=None, end_values=None, **meters):
    in_use = InUse(stays, AS_OF)
    return Fitted(
        day(start),
        day(end) if end else None,
        {name: track_meter(one, in_use) for name, one in meters.items()},
        in_use,
        {name: Decimal(v) for name, v in (start_values or {}).items()},
        {name: Decimal(v) for name, v in (end_values or {}).items()},
    )


FIRST = meter("mi", ("2024-01-01", 10000), ("2025-01-01", 14000))
SECOND = meter("km", ("2025-01-01", 50000), ("2026-01-01", 58046))


def test_use_is_the_sum_over_rigs_in_one_unit():
    """8,046.72 km are 5,000 mi; the meter shows whole kilometers."""
    spans = [
        fitted("2024-01-01", "2025-01-01", odometer=FIRST),
        fitted("2025-01-01", None, odometer=SECOND),
    ]
    found = used(spans, "distance", "mi", since=None, until=AS_OF)
    assert found.quantize(Decimal(1)) == 9000


def test_a_meter_replaced_in_between_is_reckoned_with():
    new = Replacement(day("2024-07-01"), Decimal(12000), Decimal(0))
    worn = meter("mi", ("2024-01-01", 10000), ("2025-01-01", 2000), replaced=[new])
    spans = [fitted("2024-01-01", "2025-01-01", odometer=worn)]
    assert used(spans, "distance", "mi", since=None, until=AS_OF) == 4000


def test_time_in_the_shed_is_no_use():
    spans = [
        fitted("2024-01-01", "2024-07-01", odometer=FIRST),
        fitted("2025-01-01", None, odometer=FIRST),
    ]
    half = used(spans, "distance", "mi", since=None, until=AS_OF)
    whole = used(
        [fitted("2024-01-01", None, odometer=FIRST)],
        "distance",
        "mi",
        since=None,
        until=AS_OF,
    )
    assert 0 < half < whole == 4000


def test_figures_noted_at_fitting_come_before_the_readings():
    span = fitted(
        "2024-01-01",
        "2024-06-01",
        start_values={"odometer": 10100},
        end_values={"odometer": 11100},
        odometer=FIRST,
    )
    assert used([span], "distance", "mi", since=None, until=AS_OF) == 1000


def test_without_a_reading_nobody_knows():
    empty = fitted("2024-01-01", None, odometer=meter("mi"))
    assert used([empty], "distance", "mi", since=None, until=AS_OF) is None
    none = fitted("2024-01-01", None)
    assert used([none], "distance", "mi", since=None, until=AS_OF) is None


def test_the_tires_of_a_towed_car_wear_on_the_hook_as_well():
    """2,000 mi by its odometer and 500 behind the motorhome."""
    in_use = InUse([], day("2026-05-04"))
    odometer = meter("mi", ("2026-01-01", 26000), ("2026-05-01", 28000))
    trip = Trip(
        day("2026-04-01"),
        day("2026-04-03"),
        odometer=(Decimal(57000), Decimal(57500)),
    )
    driven = track_meter(odometer, in_use)
    towed = track_towed(Meter("mi"), in_use, (trip,), day("2026-05-04"))
    tracks = {
        "odometer": driven,
        "towed": towed,
        "wheel_distance": track_wheels(driven, towed),
    }
    span = Fitted(day("2026-01-01"), None, tracks, in_use)
    gone = used([span], "distance", "mi", since=None, until=day("2026-05-04"))
    assert gone == 2500


def test_hours_count_where_there_is_a_meter_for_them():
    hours = meter("h", ("2024-01-01", 100), ("2025-01-01", 160))
    spans = [
        fitted("2024-01-01", "2025-01-01", generator=hours),
        fitted("2025-01-01", None, odometer=SECOND),
    ]
    assert used(spans, "generator", "h", since=None, until=AS_OF) == 60


def test_a_change_of_place_does_not_break_the_run_and_the_shed_does():
    a, b = day("2024-01-01"), day("2024-06-01")
    assert present_run([("x", a, b), ("x", b, None)]) == 0
    assert present_run([("x", a, b), ("y", b, None)]) == 1
    assert present_run([("x", a, b), ("x", day("2024-06-02"), None)]) == 1


def test_carry_is_in_the_present_rigs_unit():
    spans = [
        fitted("2024-01-01", "2025-01-01", odometer=FIRST),
        fitted("2025-01-01", None, start_values={"odometer": 50000}, odometer=SECOND),
    ]
    found = carry(spans, 1, since=day("2024-01-01"))
    assert found.used["odometer"].quantize(Decimal(1)) == 6437  # 4,000 mi
    assert found.values == {"odometer": 50000}
    assert found.days_in_use == 366


def test_days_in_a_stay_are_not_in_use():
    stays = [Stay(day("2024-02-01"), day("2024-03-01"))]
    spans = [fitted("2024-01-01", "2025-01-01", stays=stays, odometer=FIRST)]
    found = days_in_use(spans, since=day("2024-01-01"), until=AS_OF)
    assert found == 366 - 29


# --- reckoned -------------------------------------------------------------------------

EVERY = EveryMeter("odometer", "mi", Decimal(6000))


def stand(*triggers, carried: Carry | None, stays=(), meters=None):
    """An item done on 1 June 2025, on a rig whose meter shows 21,000 mi today."""
    here = meters or {
        "odometer": meter("mi", ("2026-01-01", 20000), ("2026-06-01", 21000))
    }
    done = Completion(day("2025-06-01"), carried=carried)
    item = Item("x", tuple(triggers), done=(done,))
    rig = Rig(meters=here, items=(item,), stays=stays)
    return reckon(rig, calendar=Calendar(), as_of=AS_OF).items[0]


def test_distance_already_spent_counts_on_the_new_rig():
    gone = {"odometer": Decimal(2500)}
    came = Carry(day("2026-01-01"), {"odometer": Decimal(20000)}, gone)
    found = stand(EVERY, carried=came)
    assert found.window.closes.value == 20000 - 2500 + 6000
    assert found.window.opens.value == 20000 - 2500 + 6000 - 500
    assert [fact.key for fact in found.why][:2] == ["done", "carried"]


def test_a_meter_replaced_on_the_new_rig_does_not_matter():
    new = Replacement(day("2026-03-01"), Decimal(20400), Decimal(0))
    readings = (("2026-01-01", 20000), ("2026-06-01", 600))
    here = {"odometer": meter("mi", *readings, replaced=[new])}
    gone = {"odometer": Decimal(2500)}
    came = Carry(day("2026-01-01"), {"odometer": Decimal(20000)}, gone)
    found = stand(EVERY, carried=came, meters=here)
    assert found.window.closes.value == 20000 - 2500 + 6000 - 20400  # as shown now


def test_without_a_known_use_there_is_no_window():
    found = stand(EVERY, carried=Carry(day("2026-01-01")))
    assert found.standing == "unknown"


def test_days_in_use_already_spent_count_through_the_new_rigs_stays():
    rule = EveryTime(Span(days=180), in_use=True)
    stays = (Stay(day("2025-10-01"), day("2026-02-01")),)
    came = Carry(day("2026-03-01"), days_in_use=100)
    found = stand(rule, carried=came, stays=stays)
    assert found.window.closes == date(2026, 5, 20)  # 80 days after 1 March
    plain = stand(rule, carried=None, stays=stays)
    assert plain.window.closes != found.window.closes


@pytest.mark.parametrize("months", [6, 12, 30])
def test_calendar_time_is_the_same_on_every_rig(months):
    rule = EveryTime(Span(months=months))
    came = Carry(day("2026-01-01"), days_in_use=3)
    with_carry, without = (stand(rule, carried=c) for c in (came, None))
    assert with_carry.window == without.window
    assert replace(with_carry, why=()) == replace(without, why=())
