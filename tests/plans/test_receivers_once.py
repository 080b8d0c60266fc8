"""Many changes, one renewal at the end, in the same transaction."""

from datetime import timedelta
from decimal import Decimal

import pytest

from maintenance.plans import receivers
from maintenance.plans.models import Standing
from maintenance.plans.services import state_baseline
from maintenance.plans.standings import recheck
from maintenance.vehicles.models import Reading
from maintenance.vehicles.services import record_reading
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


@pytest.fixture
def renewals(monkeypatch):
    """How often standings were reckoned."""
    calls = []
    real = receivers.renew_household

    def counted(household, *, as_of):
        calls.append(as_of)
        return real(household, as_of=as_of)

    monkeypatch.setattr(receivers, "renew_household", counted)
    return calls


def give_two_readings(rig, by):
    meter = rig.meters.get()
    for ago, value in ((9, 100), (2, 400)):
        on = TODAY - timedelta(days=ago)
        record_reading(meter, by=by, today=on, on=on, value=Decimal(value))


def give_two_readings_and_fail(rig, by):
    give_two_readings(rig, by)
    raise ZeroDivisionError


def test_renewing_once_reckons_a_household_once_for_the_day_given(
    keeper, rig, renewals
):
    item = builders.make_item(rig)

    with receivers.renewing_once(as_of=TODAY):
        give_two_readings(rig, keeper)
        state_baseline(item, by=keeper, today=TODAY, on=TODAY - timedelta(days=30))
        assert not Standing.objects.exists()

    assert renewals == [TODAY]
    assert Standing.objects.get().as_of == TODAY
    assert recheck(keeper.household, as_of=TODAY) == []
    keeper.household.refresh_from_db()
    assert keeper.household.reckoned_on == TODAY


def test_renewing_once_that_fails_leaves_nothing_and_ends(keeper, rig, renewals):
    builders.make_item(rig)

    with pytest.raises(ZeroDivisionError), receivers.renewing_once(as_of=TODAY):
        give_two_readings_and_fail(rig, keeper)

    assert renewals == []
    assert not Reading.objects.exists()
    give_two_readings(rig, keeper)
    assert Standing.objects.exists()
