"""What a row of a list says about when."""

from datetime import timedelta
from decimal import Decimal

import pytest

from maintenance.plans.rows import row_of
from maintenance.plans.rules import rules_in_words
from maintenance.plans.services import take_on
from maintenance.vehicles.services import record_reading, report_event
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member()


def recheck(keeper, shows):
    """Of a rig with one day of readings, a wheel of which was off at 42,310 mi."""
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=TODAY - timedelta(days=9), keys=["lug_recheck"])
    when = {"by": keeper, "today": TODAY, "on": TODAY}
    report_event(
        rig,
        kind="wheel_off",
        values={"odometer": Decimal(42310)},
        places=["LF"],
        **when,
    )
    record_reading(rig.meters.get(), value=Decimal(shows), **when)
    return rig.plan_items.get().standing


def test_work_that_is_due_is_never_said_to_be_years_away(keeper):
    row = row_of(recheck(keeper, 42365), TODAY)

    assert (row.standing, row.when, row.about) == ("due", "by 42,410 mi", "")


def test_rig_without_use_gives_no_day_and_no_years(keeper):
    row = row_of(recheck(keeper, 42320), TODAY)

    assert (row.standing, row.when) == ("later", "42,360 mi to 42,410 mi")
    assert row.about == ""


def test_work_without_a_rule_is_done_when_it_is_needed(keeper):
    rig = builders.make_rig(keeper.household)
    (item,) = take_on(rig, by=keeper, today=TODAY, keys=["wheel_change"])

    row = row_of(item.standing, TODAY)

    assert row.why == ("Do it when needed.",)
    assert rules_in_words(item) == ["When needed"]
