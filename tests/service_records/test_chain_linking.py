from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, connection
from django.utils import timezone

from maintenance.households.refusals import Refused
from maintenance.service_records.chain.linking import changing, link_ripe, voiding_all
from maintenance.service_records.chain.verifying import head_of, verify
from maintenance.service_records.models import ChainLink, ServiceRecord
from maintenance.service_records.same_work import merge_records
from maintenance.service_records.services import void_record
from maintenance.service_records.tasks import link_records
from rigsite.prepare import link_waiting_records
from tests import builders
from tests.builders import TODAY

from .chain_parts import full_record, link_all, log, sql


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def test_record_is_linked_ten_minutes_after_its_entry(keeper, rig):
    record = log(rig, keeper)
    entered = record.entered_at

    assert link_ripe(entered + timedelta(minutes=9, seconds=59)) == 0
    assert link_ripe(entered + timedelta(minutes=10)) == 1
    link = record.links.get()
    assert (link.position, link.kind, link.by) == (1, "entered", keeper.name)


def test_job_that_runs_twice_links_once(keeper, rig, clock):
    clock("2026-05-04 09:00")
    log(rig, keeper)
    clock("2026-05-04 09:11")

    link_records()
    link_records()

    assert ChainLink.objects.count() == 1


def test_records_are_linked_in_the_order_of_their_entry_on_each_rig(keeper, rig):
    other = builders.make_rig(keeper.household)
    records = [log(rig, keeper, "One"), log(other, keeper), log(rig, keeper, "Two")]
    link_all()

    assert [record.links.get().position for record in records] == [1, 1, 2]


def test_one_position_is_taken_once(keeper, rig):
    record = log(rig, keeper)
    link_all()

    with pytest.raises(IntegrityError):
        ChainLink.objects.create(
            rig=rig, position=1, record=record, text="{}", digest="0" * 64
        )


def test_void_adds_a_link_with_the_reason(keeper, rig):
    record = full_record(rig, keeper)

    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    entered, void = record.links.all()
    assert (entered.kind, entered.content["voided_at"]) == ("entered", None)
    assert (void.kind, void.why, void.by) == ("voided", "wrong rig", keeper.name)
    assert void.content["why_voided"] == "wrong rig"
    assert verify(rig).holds


def test_refused_void_leaves_no_link(keeper, rig):
    record = log(rig, keeper)
    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    with pytest.raises(Refused):
        void_record(record, by=keeper, today=TODAY, why="again")

    assert record.links.count() == 2


def test_records_of_before_the_chain_are_linked_as_they_stand(keeper, rig):
    """Databases from before: voided ones too, by the first sweep."""
    record = log(rig, keeper)
    void_record(record, by=keeper, today=TODAY, why="wrong rig")
    ChainLink.objects.all().delete()

    link_ripe(timezone.now() + timedelta(days=1))

    assert verify(rig).holds
    assert record.links.get().content["why_voided"] == "wrong rig"


def test_rig_without_records_has_no_head(rig):
    result = verify(rig)

    assert head_of(rig) is None
    assert (result.head, result.holds) == (None, True)


def test_queries_do_not_grow_with_the_records(keeper, rig, django_assert_num_queries):
    full_record(rig, keeper)
    link_all()
    with django_assert_num_queries(11):
        verify(rig)
    for _n in range(4):
        full_record(rig, keeper)
    link_all()

    with django_assert_num_queries(11):
        verify(rig)


# --- what waited is linked before anything is changed ---------------------------------

BEGAN = datetime(2026, 5, 4, 9, tzinfo=UTC)


def set_to(clock, moment):
    clock(f"{moment:%Y-%m-%d %H:%M}")


def amend(record, by):
    with changing(record, by=by, why="misread"):
        ServiceRecord.objects.filter(pk=record.pk).update(notes="as the invoice says")


def void(record, by):
    void_record(record, by=by, today=TODAY, why="wrong rig")


def void_many(record, by):
    with voiding_all(record.rig, [record.pk], by=by, why="wrong file"):
        ServiceRecord.objects.filter(pk=record.pk).update(voided_at=timezone.now())


def merge(record, by):
    other = log(record.rig, by, "The same again")
    merge_records(record, into=other, by=by, today=TODAY)


@pytest.mark.parametrize("change", [amend, void, void_many, merge])
@pytest.mark.parametrize("minutes", [1, 12, 5 * 24 * 60])
def test_record_that_waited_for_the_worker_was_not_put_in_later(
    keeper, rig, clock, change, minutes
):
    """One record is logged, nothing links it for long, and a later one is changed."""
    set_to(clock, BEGAN)
    waiting = log(rig, keeper, "First")
    set_to(clock, BEGAN + timedelta(minutes=minutes))
    change(log(rig, keeper, "Second"), keeper)
    assert verify(rig).found == ()
    set_to(clock, BEGAN + timedelta(minutes=minutes + 12))

    link_records()

    assert verify(rig).found == ()
    assert waiting.links.get().kind == "entered"


def test_records_that_waited_are_linked_in_the_order_of_their_entry(keeper, rig, clock):
    """Whose row came first does not matter: on PostgreSQL two may cross."""
    set_to(clock, BEGAN)
    late, early = log(rig, keeper, "Late"), log(rig, keeper, "Early")
    rows = ServiceRecord.objects
    rows.filter(pk=early.pk).update(entered_at=BEGAN - timedelta(minutes=30))
    set_to(clock, BEGAN + timedelta(minutes=11))

    amend(late, keeper)

    assert [link.record_id for link in rig.chain.all()] == [early.pk, late.pk, late.pk]
    assert verify(rig).found == ()


def test_clock_that_was_ahead_makes_no_later_record_one_that_was_put_in(
    keeper, rig, clock
):
    set_to(clock, BEGAN + timedelta(hours=2))
    ahead = log(rig, keeper, "By a wrong clock")
    set_to(clock, BEGAN)
    amend(ahead, keeper)
    log(rig, keeper, "By the right one")
    set_to(clock, BEGAN + timedelta(minutes=11))

    link_records()

    assert verify(rig).found == ()


def test_program_links_what_waited_as_it_starts(keeper, rig, clock):
    set_to(clock, BEGAN)
    record = log(rig, keeper)
    set_to(clock, BEGAN + timedelta(days=3))

    link_waiting_records()

    assert record.links.count() == 1


def unreadable(record):
    """A day that the database holds and the program cannot read."""
    day = "2026-13-45" if connection.vendor == "sqlite" else "infinity"
    table = "service_records_servicerecord"
    sql(f'UPDATE {table} SET "on" = %s WHERE id = %s', day, record.pk)  # noqa: S608


def test_program_starts_though_a_row_cannot_be_read(keeper, rig, clock, caplog):
    set_to(clock, BEGAN)
    record = log(rig, keeper)
    set_to(clock, BEGAN + timedelta(days=3))
    unreadable(record)

    link_waiting_records()

    assert not rig.chain.exists()
    assert "records that waited could not be linked" in caplog.text
