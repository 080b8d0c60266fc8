"""A warranty puts its end on the plan, and leaves it by itself."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest

from maintenance.households.refusals import Refused
from maintenance.plans.standings import renew_household
from maintenance.service_records.giving import give
from maintenance.service_records.journal import take_back
from maintenance.service_records.services import void_record
from maintenance.service_records.warranty import drop_ended_warranties
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 5, 1), 42300)
    return rig


def log(rig, by, **more):
    values = {"odometer": Decimal(42310)}
    return builders.log_work(
        rig,
        by=by,
        today=TODAY,
        form_token=uuid4(),
        on=date(2026, 5, 3),
        lines=[Line("Water pump")],
        values=values,
        doer="Bay Street Garage",
        **more,
    )


def test_end_by_date_is_an_item_that_opens_ninety_days_before(keeper, rig):
    record = log(rig, keeper, warranty_until=date(2027, 5, 3))

    item = record.warranty_item
    assert item.title == "Warranty ends: Water pump"
    assert item.standing.result["window"] == {
        "opens": "2027-02-02",
        "closes": "2027-05-03",
    }


def test_end_by_distance_is_reached_where_the_paper_says(keeper, rig):
    record = log(rig, keeper, warranty_meter="odometer", warranty_value=Decimal(54310))

    window = record.warranty_item.standing.result["window"]
    assert window["closes"] == {"meter": "odometer", "value": 54310}


def test_whichever_comes_first_governs(keeper, rig):
    record = log(
        rig,
        keeper,
        warranty_until=date(2029, 5, 3),
        warranty_meter="odometer",
        warranty_value=Decimal(42400),
    )

    assert record.warranty_item.standing.governing == "every_distance"


def test_void_record_takes_its_warranty_off_the_plan(keeper, rig):
    record = log(rig, keeper, warranty_until=date(2027, 5, 3))

    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    record.warranty_item.refresh_from_db()
    assert record.warranty_item.dropped_on == TODAY


def test_changed_record_changes_its_item(keeper, rig):
    record = log(rig, keeper, warranty_until=date(2027, 5, 3))
    record.warranty_until = date(2028, 5, 3)
    record.save()

    take_back([record], today=TODAY)
    give([record], by=keeper, today=TODAY, again=True)
    renew_household(rig.household, as_of=TODAY)

    item = rig.plan_items.get()
    assert item.standing.result["window"]["closes"] == "2028-05-03"


def test_ended_warranty_leaves_the_plan_once(keeper, rig):
    record = log(rig, keeper, warranty_until=date(2026, 6, 1))
    later = date(2026, 6, 2)
    renew_household(rig.household, as_of=later)

    assert drop_ended_warranties(rig.household, today=later) == 1
    assert drop_ended_warranties(rig.household, today=later) == 0

    record.warranty_item.refresh_from_db()
    assert record.warranty_item.why_dropped == "the warranty has ended"


def test_last_day_of_a_warranty_still_counts(keeper, rig):
    log(rig, keeper, warranty_until=date(2026, 6, 1))
    renew_household(rig.household, as_of=date(2026, 6, 1))

    assert drop_ended_warranties(rig.household, today=date(2026, 6, 1)) == 0


def test_warranty_that_ended_before_it_was_entered_asks_nothing(keeper, rig):
    record = log(rig, keeper, warranty_until=TODAY)
    assert record.warranty_item is not None

    past = builders.log_work(
        rig,
        by=keeper,
        today=TODAY,
        form_token=uuid4(),
        on=date(2020, 1, 1),
        lines=[Line("Alternator")],
        doer="Bay Street Garage",
        warranty_until=date(2021, 1, 1),
    )
    assert past.warranty_item is None


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"warranty_until": date(2026, 5, 3)}, "before it begins"),
        ({"warranty_meter": "generator", "warranty_value": Decimal(9)}, "which meter"),
        ({"warranty_meter": "odometer", "warranty_value": Decimal(42310)}, "already"),
    ],
)
def test_warranty_that_cannot_be_is_refused(keeper, rig, fields, words):
    with pytest.raises(Refused, match=words):
        log(rig, keeper, **fields)
