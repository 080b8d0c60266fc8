"""What a record keeps of the work: values, steps, supplies, a new date of a paper."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest

from maintenance.households.refusals import Refused
from maintenance.plans.measures import Measured
from maintenance.plans.papers import set_expiry
from maintenance.plans.past import last_times
from maintenance.plans.services import take_on
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import (
    measured_on,
    steps_left_out,
)
from maintenance.service_records.services import void_record
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line, Take
from maintenance.supplies.models import Supply
from maintenance.work_sheets import kept as sheet
from tests import builders
from tests.builders import TODAY

VOLTS = Measured("rested voltage", Decimal("12.65"), "V", "House battery 1")
KEYS = ["battery_rest_volts", "registration_renewal", "lug_recheck", "pump_strainer"]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=date(2026, 1, 1), keys=KEYS)
    return rig


@pytest.fixture
def gasket(keeper):
    return Supply.objects.create(
        household=keeper.household, name="Gasket", part_number="G-22", stock=2
    )


def line(rig, key="battery_rest_volts", **fields):
    item = rig.plan_items.get(key=key)
    return Line(item.title, item, **fields)


def log(rig, by, *lines, **more: Any):
    more = {"on": date(2026, 5, 1), "doer": "Mara", **more}
    more.setdefault("form_token", uuid4())
    return builders.log_work(rig, by=by, today=TODAY, lines=lines, **more)


def left(supply):
    supply.refresh_from_db()
    return supply.stock


def test_values_and_steps_are_kept_with_their_job(keeper, rig):
    steps = [("Goggles on.", True), ("Measure.", False)]

    record = log(rig, keeper, line(rig, measures=[VOLTS], steps=steps))

    kept = record.lines.get()
    assert measured_on(kept) == [VOLTS]
    assert steps_left_out(kept) == ["Measure."]


def test_work_that_is_recorded_clears_its_sheet_and_no_other(keeper, rig):
    now = datetime(2026, 5, 1, tzinfo=UTC)
    items = [rig.plan_items.get(key=key) for key in KEYS[:2]]
    for item in items:
        sheet.keep(item, by=keeper, now=now, field="note", value="cold")

    log(rig, keeper, line(rig))

    assert [sheet.kept_of(item, now) for item in items] == [{}, {"note": "cold"}]


def test_supplies_come_out_of_stock_and_stand_in_the_record(keeper, rig, gasket):
    record = log(
        rig, keeper, line(rig, "pump_strainer"), supplies=[Take(gasket, Decimal(1))]
    )

    assert left(gasket) == 1
    assert [str(used) for used in record.supplies.all()] == ["1 piece: Gasket G-22"]


def test_too_little_in_stock_refuses_the_whole_record_at_the_field(keeper, rig, gasket):
    takes = [Take(gasket, Decimal(3))]

    with pytest.raises(Refused, match="2 pieces in stock") as caught:
        log(rig, keeper, line(rig), supplies=takes)

    assert caught.value.field == f"take_{gasket.pk}"
    assert left(gasket) == 2
    assert not ServiceRecord.objects.exists()


def test_same_form_twice_takes_out_once(keeper, rig, gasket):
    token = uuid4()
    for _n in range(2):
        takes = [Take(gasket, Decimal(1))]
        log(rig, keeper, line(rig), supplies=takes, form_token=token)

    assert left(gasket) == 1


def test_void_puts_back_what_was_taken(keeper, rig, gasket):
    record = log(rig, keeper, line(rig), supplies=[Take(gasket, Decimal(2))])

    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    assert left(gasket) == 2


def test_record_keeps_its_words_when_the_supply_leaves_the_list(keeper, rig, gasket):
    record = log(rig, keeper, line(rig), supplies=[Take(gasket, Decimal(1))])

    gasket.delete()

    used = record.supplies.get()
    assert (used.supply, used.name) == (None, "Gasket G-22")
    void_record(record, by=keeper, today=TODAY, why="wrong rig")


def test_supply_of_another_household_is_refused(keeper, rig):
    other = Supply.objects.create(household=builders.make_household(), name="Oil")

    with pytest.raises(Refused, match="t on your supplies list"):
        log(rig, keeper, line(rig), supplies=[Take(other, Decimal(1))])


EXPIRES = Measured("expires on", date(2027, 6, 30), "date")


@pytest.mark.parametrize(
    ("outcome", "closes"), [("done", "2027-06-30"), ("not_done", None)]
)
def test_renewed_paper_is_good_until_its_new_date(keeper, rig, outcome, closes):
    renewal = line(
        rig, "registration_renewal", outcome=outcome, note="x", measures=[EXPIRES]
    )

    log(rig, keeper, renewal)

    standing = rig.plan_items.get(key="registration_renewal").standing
    assert (standing.result["window"] or {}).get("closes") == closes


def test_void_forgets_the_date_that_the_record_told(keeper, rig):
    record = log(rig, keeper, line(rig, "registration_renewal", measures=[EXPIRES]))

    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    standing = rig.plan_items.get(key="registration_renewal").standing
    assert (standing.standing, standing.result["window"]) == ("unknown", None)


def test_void_keeps_a_date_that_was_told_since(keeper, rig):
    record = log(rig, keeper, line(rig, "registration_renewal", measures=[EXPIRES]))
    later = date(2028, 6, 30)
    item = rig.plan_items.get(key="registration_renewal")
    set_expiry(item, by=keeper, today=TODAY, expires=later)

    void_record(record, by=keeper, today=TODAY, why="entered twice")

    item = rig.plan_items.get(key="registration_renewal")
    assert item.standing.result["window"]["closes"] == "2028-06-30"


def test_date_that_cannot_be_refuses_the_record(keeper, rig):
    far = Measured("expires on", date(2099, 6, 30), "date")

    with pytest.raises(Refused, match="can't be right"):
        log(rig, keeper, line(rig, "registration_renewal", measures=[far]))

    assert not ServiceRecord.objects.exists()


# --- the last times -----------------------------------------------------------------


def test_last_three_times_are_shown_with_what_was_measured(keeper, rig):
    for day in (1, 2, 3, 4):
        log(rig, keeper, line(rig, measures=[VOLTS]), on=date(2026, 4, day))

    times = last_times(rig.plan_items.get(key="battery_rest_volts"))

    assert [time.on.day for time in times] == [4, 3, 2]
    assert times[0].measured == ("rested voltage: House battery 1 12.65 V",)


def test_fault_that_was_found_is_among_the_last_times(keeper, rig):
    log(rig, keeper, line(rig, outcome="fault_found", note="swollen case"))

    time = last_times(rig.plan_items.get(key="battery_rest_volts"))[0]
    assert (time.outcome, time.note) == ("Fault found", "swollen case")


def test_torque_of_each_wheel_is_among_the_last_times(keeper, rig):
    wheels = Wheels(
        figure=Decimal(110),
        origin="invoice",
        reached={"LF": Decimal(110), "RF": Decimal(111)},
        moved=frozenset({"RF"}),
    )

    log(rig, keeper, line(rig, "lug_recheck", outcome="held"), wheels=wheels)

    time = last_times(rig.plan_items.get(key="lug_recheck"))[0]
    assert time.measured == (
        "torque 110 ft·lbf: LF 110, RF 111",
        "a nut moved at RF",
    )


def test_voided_work_is_not_among_the_last_times(keeper, rig):
    record = log(rig, keeper, line(rig))
    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    assert last_times(rig.plan_items.get(key="battery_rest_volts")) == []


def test_work_that_renewed_the_item_is_named(keeper, rig):
    take_on(
        rig,
        by=keeper,
        today=date(2026, 1, 1),
        keys=["engine_oil", "engine_oil_before_storage"],
    )
    log(rig, keeper, line(rig, "engine_oil_before_storage"))

    time = last_times(rig.plan_items.get(key="engine_oil"))[0]
    assert (
        time.note
        == "with: Change the engine oil before three months or more in storage"
    )
