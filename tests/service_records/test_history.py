"""Many past works at once, held to the rules of a single one."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused
from maintenance.plans.models import Completion, Standing
from maintenance.plans.standings import recheck, renew_household
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.services import record_many, record_work
from maintenance.service_records.work import Line, WorkDone
from maintenance.vehicles.models import Event, Reading
from tests.builders import TODAY, make_item, make_member, make_rig

pytestmark = pytest.mark.django_db


@pytest.fixture
def rig():
    return make_rig()


@pytest.fixture
def crew(rig):
    return make_member(rig.household, "crew")


def past(rig, item, day, value=None, title="Oil"):
    values = {"odometer": Decimal(value)} if value else {}
    return WorkDone(
        rig=rig,
        on=day,
        lines=[Line(title, item=item)],
        values=values,
        doer="Bergen Garage",
        done_by="shop",
    )


def facts():
    """All that a record, its lines, readings, completions and events say."""
    return [
        (
            record.on, record.values, record.doer, record.currency,
            [(x.title, x.outcome, x.completions.count()) for x in record.lines.all()],
            list(record.readings.values_list("value", flat=True)),
            sorted(record.events.values_list("kind", flat=True)),
        )
        for record in ServiceRecord.objects.order_by("on", "pk")
    ]  # fmt: skip


def wipe():
    for model in (Reading, Event, Completion, ServiceRecord):
        model.objects.all().delete()


def test_history_then_the_same_as_logged_one_by_one(rig, crew):
    items = [make_item(rig), make_item(rig, "tire_rotation"), None]
    works = [past(rig, x, date(2025, 1 + n, 1), 30000 + n) for n, x in enumerate(items)]
    for one in works:
        record_work(one, by=crew, today=TODAY)
    single, standings = facts(), list(Standing.objects.values("item", "result"))
    wipe()

    record_many(rig, by=crew, today=TODAY, works=works)
    renew_household(rig.household, as_of=TODAY)

    assert facts() == single
    assert list(Standing.objects.values("item", "result")) == standings


def test_history_then_standings_wait_for_the_next_look(rig, crew):
    renew_household(rig.household, as_of=TODAY)

    record_many(rig, by=crew, today=TODAY, works=[past(rig, make_item(rig), TODAY, 5)])

    rig.household.refresh_from_db()
    assert rig.household.reckoned_on is None
    renew_household(rig.household, as_of=TODAY)
    assert recheck(rig.household, as_of=TODAY) == []


def test_history_of_the_future_or_of_another_rig_then_refused_whole(rig, crew):
    good = past(rig, None, date(2025, 1, 1))
    for bad in (
        past(rig, None, date(2030, 1, 1)),
        past(rig, make_item(make_rig()), TODAY),
    ):
        with pytest.raises(Refused):
            record_many(rig, by=crew, today=TODAY, works=[good, bad])

    assert not ServiceRecord.objects.exists()


def test_history_by_a_viewer_then_refused(rig):
    viewer = make_member(rig.household, "viewer")

    with pytest.raises(NotAllowed):
        record_many(rig, by=viewer, today=TODAY, works=[past(rig, None, TODAY)])


def test_history_of_many_then_as_many_queries_as_of_few(
    rig, crew, django_assert_max_num_queries
):
    item = make_item(rig)
    works = [past(rig, item, date(2025, 1, 1 + n % 28), 30000) for n in range(60)]
    with CaptureQueriesContext(connection) as few:
        record_many(rig, by=crew, today=TODAY, works=works[:3])

    with django_assert_max_num_queries(len(few)):
        record_many(rig, by=crew, today=TODAY, works=works[3:])


def test_history_from_before_an_item_was_put_off_then_it_stays_put_off(
    rig, crew, clock
):
    clock("2026-05-04")
    item = make_item(rig)
    item.deferrals.create(until=date(2026, 6, 1), why="Parts are coming")

    record_many(rig, by=crew, today=TODAY, works=[past(rig, item, date(2025, 1, 1))])
    assert item.deferrals.get().ended is False

    record_many(rig, by=crew, today=TODAY, works=[past(rig, item, TODAY)])
    assert item.deferrals.get().ended is True
