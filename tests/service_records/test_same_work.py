"""The same work logged twice: what counts as the same, made one, and exactly undone."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core import serializers

from maintenance.findings.models import Finding
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Completion, PlanItem, Standing
from maintenance.plans.services import take_on
from maintenance.service_records.models import RecordLine, ServiceRecord, SupplyUsed
from maintenance.service_records.same_work import (
    merge_records,
    same_work,
    take_apart,
)
from maintenance.service_records.services import void_record
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line, Take
from maintenance.supplies.models import Supply
from maintenance.vehicles.models import Event, Reading
from tests import builders
from tests.builders import TODAY

WORKED = date(2026, 5, 1)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 4, 1), 41800)
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil", "lug_recheck"])
    return rig


def item(rig, key="engine_oil"):
    return rig.plan_items.get(key=key)


def log(rig, by, *lines, **more):
    more = {"on": WORKED, "doer": "Ada", "form_token": uuid4()} | more
    return builders.log_work(rig, by=by, today=TODAY, lines=lines, **more)


def oil(rig, by, **more):
    job = item(rig)
    return log(rig, by, Line(job.title, job), **more)


def values(number):
    return {"odometer": Decimal(number)}


@pytest.mark.parametrize(
    ("on", "reading", "same"),
    [
        (date(2026, 5, 1), None, True),
        (date(2026, 5, 4), None, True),
        (date(2026, 4, 28), None, True),
        (date(2026, 4, 27), None, False),
        (date(2026, 5, 2), 42360, True),
        (date(2026, 5, 2), 42361, False),
    ],
)
def test_same_job_a_few_days_and_miles_apart_is_asked_about(
    keeper, rig, on, reading, same
):
    known = oil(rig, keeper, values=values(42310))
    given = values(reading) if reading else {}

    found = same_work(rig, on=on, items=[item(rig)], values=given)

    assert found == ([known] if same else [])


def test_another_job_another_rig_and_void_work_are_not_the_same(keeper, rig):
    other = builders.make_rig(keeper.household)
    oil(rig, keeper)
    void_record(
        log(rig, keeper, Line("x", item(rig, "lug_recheck"))),
        by=keeper,
        today=TODAY,
        why="slip",
    )

    assert same_work(other, on=WORKED, items=[item(rig)]) == []
    assert same_work(rig, on=WORKED, items=[item(rig, "lug_recheck")]) == []
    assert same_work(rig, on=WORKED, items=[]) == []


def test_what_both_did_counts_once(keeper, rig):
    off = Wheels(off=frozenset({"LF"}))
    first = oil(rig, keeper, wheels=off)
    second = oil(rig, keeper, wheels=off)

    merge_records(second, into=first, by=keeper, today=TODAY)

    assert Completion.objects.get(withdrawn=False).record_lines.get().record == first
    assert list(Event.objects.filter(withdrawn=False)) == list(first.events.all())
    assert list(ServiceRecord.objects.standing_records()) == [first]


def test_what_only_one_did_still_counts(keeper, rig):
    first = log(rig, keeper, Line("Tires"), wheels=Wheels(off=frozenset({"LF"})))
    second = oil(rig, keeper, wheels=Wheels(off=frozenset({"LF", "RF"})))

    merge_records(second, into=first, by=keeper, today=TODAY)

    assert not Completion.objects.filter(withdrawn=True).exists()
    assert not Event.objects.filter(withdrawn=True).exists()


ALL = (
    ServiceRecord,
    RecordLine,
    Completion,
    Event,
    Reading,
    PlanItem,
    Standing,
    Supply,
    SupplyUsed,
    Finding,
)


def state():
    """Every row that a merge may touch, as it stands."""
    return {
        model.__name__: serializers.serialize("json", model.objects.order_by("pk"))
        for model in ALL
    }


def test_taken_apart_everything_is_exactly_as_before(keeper, rig):
    supply = Supply.objects.create(household=keeper.household, name="Oil", stock=20)
    fault = Line("Brakes", item(rig, "lug_recheck"), "fault_found", "stud cracked")
    both = {
        "wheels": Wheels(off=frozenset({"LF"})),
        "values": values(42310),
        "supplies": [Take(supply, Decimal(5))],
    }
    job = Line("Oil", item(rig))
    first, second = (log(rig, keeper, job, fault, **both) for _n in range(2))
    before = state()

    merge = merge_records(second, into=first, by=keeper, today=TODAY)
    assert Finding.objects.filter(withdrawn=True).count() == 1
    supply.refresh_from_db()
    assert supply.stock == 15
    take_apart(merge, by=keeper, today=TODAY)

    assert state() == before


def test_taken_apart_twice_is_refused(keeper, rig):
    merge = merge_records(
        oil(rig, keeper), into=oil(rig, keeper), by=keeper, today=TODAY
    )
    take_apart(merge, by=keeper, today=TODAY)

    with pytest.raises(Refused, match="already separate"):
        take_apart(merge, by=keeper, today=TODAY)


def test_merged_record_is_not_voided_by_itself(keeper, rig):
    first, second = oil(rig, keeper), oil(rig, keeper)
    merge_records(second, into=first, by=keeper, today=TODAY)

    for record in (first, second):
        record.refresh_from_db()
        with pytest.raises(Refused, match="Separate them first"):
            void_record(record, by=keeper, today=TODAY, why="slip")


def test_chain_of_merges_and_other_rigs_are_refused(keeper, rig):
    first, second, third = (oil(rig, keeper) for _n in range(3))
    other = log(builders.make_rig(keeper.household), keeper, Line("Work"))
    merge_records(second, into=first, by=keeper, today=TODAY)
    second.refresh_from_db()

    for record, into in ((third, second), (first, third), (second, third)):
        with pytest.raises(Refused):
            merge_records(record, into=into, by=keeper, today=TODAY)
    with pytest.raises(Refused, match="same rig"):
        merge_records(third, into=other, by=keeper, today=TODAY)


def test_viewer_may_not_make_two_one(keeper, rig):
    viewer = builders.make_member(keeper.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        merge_records(oil(rig, keeper), into=oil(rig, keeper), by=viewer, today=TODAY)
