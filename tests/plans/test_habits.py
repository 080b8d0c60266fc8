"""Habits of meters are kept between reckonings: learned once, not believed blindly."""

from datetime import timedelta
from decimal import Decimal

import pytest

from maintenance.core.forecast import kept
from maintenance.plans.models import MeterHabit, Standing
from maintenance.plans.standings import recheck, renew_household, renew_standings
from maintenance.plans.use import timeline_of, uses_of
from maintenance.vehicles import services
from maintenance.vehicles.models import Meter, Reading
from tests import builders
from tests.builders import TODAY

DAY = timedelta(days=1)


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    """Two meters with a year of readings, and an item on each."""
    rig = builders.make_rig(keeper.household)
    Meter.objects.create(rig=rig, kind="generator", unit="h")
    for ago in range(360, 0, -20):
        builders.make_reading(rig, TODAY - ago * DAY, 50000 - 20 * ago)
        builders.make_reading(rig, TODAY - ago * DAY, 900 - ago, "generator")
    oil = {"every": {"distance": 10000, "unit": "mi", "meter": "odometer"}}
    plugs = {"every": {"hours": 500, "meter": "generator"}}
    for key, rule in (("oil", oil), ("plugs", plugs)):
        values = {"odometer": "42800", "generator": "540"}
        builders.make_item(
            rig,
            key,
            triggers=[rule],
            baseline="stated",
            baseline_on=TODAY - 360 * DAY,
            baseline_values=values,
        )
    return rig


@pytest.fixture
def learned(monkeypatch):
    """The units of the meters that something was learned of."""
    units = []
    learn = kept.learn

    def counted(history, unit):
        units.append(unit)
        return learn(history, unit)

    monkeypatch.setattr(kept, "learn", counted)
    return units


def renew(rig, as_of=TODAY):
    return renew_standings([rig], as_of=as_of)


def test_reckoning_again_or_on_another_day_learns_nothing(rig, learned):
    renew(rig)
    assert sorted(learned) == ["h", "mi"]
    assert MeterHabit.objects.filter(meter__rig=rig).count() == 2

    learned.clear()
    renew(rig)
    renew_household(rig.household, as_of=TODAY + 3 * DAY)
    uses_of(timeline_of(rig, TODAY + 3 * DAY))

    assert learned == []


def test_new_reading_learns_its_own_meter_alone(rig, keeper, learned):
    renew(rig)
    renew_household(rig.household, as_of=TODAY)
    learned.clear()

    odometer = rig.meters.get(kind="odometer")
    services.record_reading(
        odometer, by=keeper, today=TODAY, on=TODAY, value=Decimal(50100)
    )

    assert learned == ["mi"]
    learned.clear()
    renew(rig)
    assert learned == []


def test_withdrawn_reading_and_a_stay_learn_anew(rig, keeper, learned):
    renew(rig)
    learned.clear()
    last = Reading.objects.filter(meter__kind="odometer").latest("on")
    Reading.objects.filter(pk=last.pk).update(withdrawn=True)
    renew(rig)
    assert learned == ["mi"]

    learned.clear()
    rig.stays.create(start=TODAY - 200 * DAY, ended_on=TODAY - 150 * DAY)
    renew(rig)
    assert sorted(learned) == ["h", "mi"]


def test_kept_or_not_the_standings_are_the_same(rig):
    renew(rig)
    with_kept = _standings(rig)
    MeterHabit.objects.all().delete()
    Standing.objects.all().delete()
    renew(rig)

    assert _standings(rig) == with_kept
    assert all(row["result"]["forecast"] for row in with_kept)
    assert recheck(rig.household, as_of=TODAY) == []


def _standings(rig):
    rows = Standing.objects.filter(item__rig=rig).order_by("item__key")
    return list(rows.values("item__key", "standing", "result", "why", "closes_on"))


def test_row_whose_key_does_not_fit_is_not_read_and_is_written_anew(rig):
    renew(rig)
    good = dict(MeterHabit.objects.values_list("meter", "learned"))
    MeterHabit.objects.update(key="of an older version", learned="no JSON at all")

    assert renew(rig) == 0

    assert dict(MeterHabit.objects.values_list("meter", "learned")) == good


def test_recheck_does_not_believe_what_was_kept(rig):
    renew(rig)
    odometer = MeterHabit.objects.get(meter__kind="odometer")
    other = MeterHabit.objects.get(meter__kind="generator")
    MeterHabit.objects.filter(pk=odometer.pk).update(learned=other.learned)
    assert renew(rig) == 1  # the key fits: what was put there is used

    found = recheck(rig.household, as_of=TODAY)

    assert [difference.item.key for difference in found] == ["oil"]


def test_recheck_keeps_nothing(rig):
    renew(rig)
    MeterHabit.objects.all().delete()

    recheck(rig.household, as_of=TODAY)

    assert not MeterHabit.objects.exists()
