"""Whatever facts are entered, corrected and withdrawn, the standings are those of the
facts that remain, as if the others had never been."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.households.refusals import Refused
from maintenance.plans.fact_data import counted_on
from maintenance.plans.models import Standing
from maintenance.plans.services import take_on
from maintenance.plans.standings import recheck, renew_household
from maintenance.vehicles import services, trips
from maintenance.vehicles.correcting import correct_fact, withdraw_fact, words_of
from maintenance.vehicles.models import Reading
from tests import builders
from tests.builders import TODAY
from tests.service_records.test_give_and_take_back import in_its_own

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
KEYS = ["engine_oil", "lug_recheck", "tire_rotate"]
FIRST = date(2026, 3, 1)


class World:
    def __init__(self):
        household = builders.make_household()
        self.by = builders.make_member(household)
        self.rig = builders.make_rig(household)
        builders.make_reading(self.rig, FIRST, 40000)
        self.meter = self.rig.meters.get()
        take_on(self.rig, by=self.by, today=FIRST, keys=KEYS)
        renew_household(household, as_of=TODAY)

    @property
    def who(self):
        return {"by": self.by, "today": TODAY}


@pytest.fixture
def world(clock):
    clock("2026-05-04")
    return World()


def day(n):
    return FIRST + timedelta(days=n)


# --- entering a fact of `n`, and what correcting it says ------------------------------


def reading(world, n):
    on, value = day(n), Decimal(40000 + 9 * n)
    return services.record_reading(world.meter, **world.who, on=on, value=value)


def questionable(world, n):
    on, value = day(n), Decimal(40000 + 200 * n)
    return services.record_reading(
        world.meter, **world.who, on=on, value=value, questionable=True
    )


def wild(world, n):
    on, value = day(n), Decimal(900000 + n)
    return services.record_reading(world.meter, **world.who, on=on, value=value)


def event(world, n):
    values = {"odometer": Decimal(40000 + 9 * n)}
    return services.report_event(
        world.rig, **world.who, kind="wheel_off", on=day(n), values=values
    )


def replacement(world, n):
    old = Decimal(40000 + 9 * n)
    return services.replace_meter(
        world.meter, **world.who, on=day(n), old_final=old, new_start=Decimal(n)
    )


def duty(world, n):
    start, end = day(n), day(n + 5)
    return services.set_severe_duty(world.rig, **world.who, start=start, end=end)


def stay(world, n):
    made = services.start_stay(world.rig, **world.who, start=day(n))
    return services.end_stay(made, **world.who, ended_on=day(n + 4))


def trip(world, n):
    return trips.plan_trip(
        world.rig, **world.who, start=day(n), end=day(n + 2), distance=Decimal(90)
    )


ENTER = [reading, questionable, wild, event, replacement, duty, stay, trip]
CORRECT = {
    reading: lambda n: {"value": Decimal(40001 + 9 * n)},
    questionable: lambda n: {"value": Decimal(40002 + 9 * n)},
    wild: lambda n: {"value": Decimal(40003 + 9 * n)},
    replacement: lambda n: {"old_final": Decimal(40004 + 9 * n)},
    duty: lambda n: {"end": day(n + 6)},
    stay: lambda n: {"ended_on": day(n + 3)},
    trip: lambda n: {"distance": Decimal(100)},
}
# What is entered, on which day, and what becomes of it.
STEPS = st.lists(
    st.tuples(
        st.sampled_from(ENTER),
        st.integers(1, 50),
        st.sampled_from(["stays", "corrected", "withdrawn", "corrected, withdrawn"]),
    ),
    max_size=6,
)


def live(world, steps, *, only_what_remains):
    """With all facts on their way, or with those alone that remain."""
    made = []
    for enter, n, fate in steps:
        if only_what_remains and "withdrawn" in fate:
            continue
        try:
            fact = enter(world, n)
        except Refused:
            made.append(None)
            continue
        made.append(fact)
    for fact, (enter, n, fate) in zip(
        made, kept(steps, only_what_remains), strict=True
    ):
        if fact is None:
            continue
        if "corrected" in fate and enter in CORRECT:
            correct(world, fact, CORRECT[enter](n))
        if "withdrawn" in fate:
            withdraw_fact(fact, **world.who, why="never was")


def kept(steps, only_what_remains):
    if not only_what_remains:
        return steps
    return [step for step in steps if "withdrawn" not in step[2]]


def correct(world, fact, columns):
    correct_fact(fact, **world.who, why="slip", seen=words_of(fact), columns=columns)


def what_counts(world):
    rows = Standing.objects.filter(item__rig=world.rig).order_by("item__title")
    return [
        (
            row.item.title,
            row.standing,
            row.result | {"key": ""},
            counted_on(row.why, row.as_of, TODAY),
        )
        for row in rows.select_related("item")
    ], sorted(
        Reading.objects.filter(withdrawn=False).values_list("on", "value", "doubtful")
    )


def without_clashes(steps):
    """Facts whose days no other has: what is refused beside another fact hangs on that
    fact, which may be withdrawn later."""
    found, taken = [], set()
    for enter, n, fate in steps:
        days = set(range(n, n + 8))
        if not days & taken:
            taken |= days
            found.append((enter, n, fate))
    return found


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(steps=STEPS.map(without_clashes))
def test_any_facts_then_only_those_that_remain_count(steps, world):
    results = []

    def all_of_them(world):
        live(world, steps, only_what_remains=False)
        assert recheck(world.rig.household, as_of=TODAY) == []
        results.append(what_counts(world))

    def those_that_remain(world):
        live(world, steps, only_what_remains=True)
        results.append(what_counts(world))

    in_its_own(world, all_of_them)
    in_its_own(world, those_that_remain)

    assert results[0] == results[1]
