"""What a record gives is taken back whole, whatever kind of work it is and whatever
other people did in between."""

import copy
import uuid
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.core.facts import MeterPoint
from maintenance.findings.models import Finding, FindingState
from maintenance.findings.services import judge_finding, open_finding, plan_finding
from maintenance.plans.measures import EXPIRES, Measured, from_data
from maintenance.plans.models import Completion, Outcome, PlanItem, Standing
from maintenance.plans.services import defer, take_on
from maintenance.plans.standings import recheck, renew_household
from maintenance.service_records.amending import Amended, amend_record
from maintenance.service_records.journal import columns_of
from maintenance.service_records.models import JournalEntry, ServiceRecord
from maintenance.service_records.same_work import merge_records, take_apart
from maintenance.service_records.services import (
    record_work,
    undo_record,
    void_record,
)
from maintenance.service_records.torque import Fastener, Wheels
from maintenance.service_records.work import Line, Take, Warranty, WorkDone
from maintenance.supplies.models import Supply
from maintenance.supplies.services import buy
from maintenance.vehicles.models import Event, Reading
from maintenance.vehicles.services import confirm_reading, record_reading
from tests import builders
from tests.builders import TODAY

pytestmark = pytest.mark.django_db

# What undoing does not bring back: who did what, until when a household is reckoned,
# and what was learned of a meter's use, which is learned again from what is there.
NOT_COMPARED = {
    "households.activityentry",
    "households.household",
    "plans.meterhabit",
}


class World:
    """A rig with every kind of thing that work touches."""

    def __init__(self):
        household = builders.make_household()
        self.keeper = builders.make_member(household)
        self.other = builders.make_member(household, "crew")
        self.rig = builders.make_rig(household)
        builders.make_reading(self.rig, date(2026, 4, 1), 42000)
        keys = ["engine_oil", "lug_recheck", "tire_rotate", "registration_renewal"]
        items = take_on(self.rig, by=self.keeper, today=TODAY, keys=keys)
        self.items = {item.key: item for item in items}
        self.supply = Supply.objects.create(
            household=household, name="Oil", stock=Decimal(9)
        )
        crack = open_finding(self.rig, by=self.keeper, on=TODAY, what="Crack")
        self.planned = plan_finding(
            crack, by=self.keeper, today=TODAY, title="Seal it",
            due_on=TODAY + timedelta(days=9),
        )  # fmt: skip
        self.seam = open_finding(self.rig, by=self.keeper, on=TODAY, what="Open seam")
        self.items["engine_oil"].sheet.create(
            field="note", value="cold", kept_at=timezone.now()
        )
        defer(
            self.items["engine_oil"], by=self.keeper, today=TODAY, why="Parts",
            until=TODAY + timedelta(days=3),
        )  # fmt: skip
        renew_household(household, as_of=TODAY)


def jobs(world, kinds):
    """The lines of work, by their kinds."""
    items = world.items
    known = {
        "oil": Line("Oil", items["engine_oil"]),
        "looked": Line("Oil", items["engine_oil"], Outcome.SERVICEABLE),
        "not done": Line("Oil", items["engine_oil"], Outcome.NOT_DONE, "rain"),
        "fault": Line("Lamp", None, Outcome.FAULT_FOUND, "dark"),
        "rotate": Line("Rotated", items["tire_rotate"]),
        "lugs": Line("Lugs", items["lug_recheck"], Outcome.HELD),
        "paper": Line(
            "Registration", items["registration_renewal"],
            measures=[Measured(EXPIRES, date(2027, 5, 31), "date")],
        ),
        "planned": Line("Seal it", world.planned),
        "seam": Line("Seam", fixes=[world.seam]),
    }  # fmt: skip
    return [known[kind] for kind in kinds]


KINDS = st.lists(
    st.sampled_from(
        ["oil", "looked", "not done", "fault", "rotate", "lugs", "paper", "planned",
         "seam"]
    ),
    min_size=1, max_size=4, unique=True,
)  # fmt: skip
WORK = st.fixed_dictionaries(
    {
        "kinds": KINDS,
        "value": st.sampled_from([None, 42310, 1]),
        "confirmed": st.booleans(),
        "off": st.sampled_from([(), ("LF",), ("LF", "RR")]),
        "torque": st.sampled_from([None, "same", "differs"]),
        "supply": st.booleans(),
        "warranty": st.booleans(),
        "span": st.booleans(),
    }
)


def work_of(world, given):
    wheels = Wheels(off=frozenset(given["off"]))
    if given["torque"]:
        wheels = Wheels(
            off=frozenset(given["off"]),
            figure=Decimal(110),
            origin="invoice",
            reached={"LF": Decimal(110)},
            fasteners=[Fastener("drain plug", Decimal(30), Decimal(30))],
            makers_figure=Decimal(100) if given["torque"] == "differs" else None,
        )
    value = given["value"]
    return WorkDone(
        rig=world.rig,
        on=date(2026, 5, 1),
        until=date(2026, 5, 3) if given["span"] else None,
        lines=jobs(world, given["kinds"]),
        doer="Ann",
        values={"odometer": Decimal(value)} if value else {},
        values_confirmed=given["confirmed"],
        wheels=wheels,
        supplies=[Take(world.supply, Decimal(2))] if given["supply"] else [],
        warranty=Warranty(until=date(2027, 5, 1)) if given["warranty"] else Warranty(),
    )


def everything():
    """Every row of every table, as text."""
    rows = Counter()
    for model in apps.get_models(include_auto_created=True):
        label = model._meta.label_lower
        if label in NOT_COMPARED:
            continue
        for row in model._default_manager.all():
            rows[label, row.pk, repr(_plain(row))] += 1
    return rows


def _plain(row):
    skipped = {"as_of"}
    columns = {k: v for k, v in columns_of(row).items() if k not in skipped}
    return sorted(columns.items())


def what_counts(rig):
    """Standings, findings, stock and plan, as far as they count, without the numbers
    of rows: a second world on PostgreSQL counts on where the first stopped."""
    return {
        "standings": [
            (row.item.title, row.standing, row.result | {"key": ""}, row.why)
            for row in Standing.objects.filter(item__rig=rig)
            .select_related("item").order_by("item__title", "item")
        ],
        "findings": sorted(
            Finding.objects.filter(withdrawn=False).values_list("what", "state")
        ),
        "stock": list(Supply.objects.values_list("name", "stock")),
        "plan": sorted(
            PlanItem.objects.active().values_list("title", flat=True)
        ),
        "put off": sorted(
            rig.plan_items.filter(deferrals__ended=False)
            .values_list("title", flat=True)
        ),
        "doubtful": sorted(
            Reading.objects.filter(withdrawn=False).values_list("value", "doubtful")
        ),
    }  # fmt: skip


def undone(record, world):
    return undo_record(record, by=world.keeper, now=timezone.now(), today=TODAY)


# --- every kind of work ---------------------------------------------------------------

EXAMPLES = settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.fixture
def world(clock):
    clock("2026-05-04")
    return World()


class _Back(Exception):
    pass


def in_its_own(world, try_it):
    """Run in a world as it was made, of which nothing remains: neither in the database
    nor in the rows at hand."""
    try:
        with transaction.atomic():
            try_it(copy.deepcopy(world))
            raise _Back
    except _Back:
        pass


@EXAMPLES
@given(given=WORK)
def test_undone_then_every_table_is_as_it_was(given, world):
    def try_it(world):
        before = everything()
        record = record_work(work_of(world, given), by=world.keeper, today=TODAY).record
        assert everything() != before

        follows = undone(record, world)

        assert everything() == before
        assert follows.kept == ()

    in_its_own(world, try_it)


@pytest.mark.either_database
@EXAMPLES
@given(given=WORK)
def test_voided_then_what_counts_is_as_it_was(given, world):
    def try_it(world):
        before = what_counts(world.rig)
        record = record_work(work_of(world, given), by=world.keeper, today=TODAY).record

        void_record(record, by=world.keeper, today=TODAY, why="other rig")

        assert what_counts(world.rig) == before
        assert recheck(world.rig.household, as_of=TODAY) == []
        record.refresh_from_db()
        assert record.voided_at is not None
        assert record.lines.count() == len(given["kinds"])

    in_its_own(world, try_it)


@pytest.mark.either_database
@EXAMPLES
@given(given=WORK)
def test_corrected_and_corrected_back_then_it_gives_the_same(given, world):
    def try_it(world):
        record = record_work(work_of(world, given), by=world.keeper, today=TODAY).record
        before = what_counts(world.rig)
        for notes in ("a word more", ""):
            record.refresh_from_db()
            amend_record(
                record, by=world.keeper, today=TODAY, why="words",
                to=Amended(
                    on=record.on, until=record.until,
                    lines=[
                        (row, Line(row.title, row.item, row.outcome, row.note,
                                   from_data(row.measures)))
                        for row in record.lines.all()
                    ],
                    values={k: Decimal(v) for k, v in record.values.items()},
                    fields={"notes": notes},
                ),
            )  # fmt: skip
            assert what_counts(world.rig) == before

    in_its_own(world, try_it)


@pytest.mark.either_database
@EXAMPLES
@given(given=WORK)
def test_merged_and_separated_then_both_are_as_they_were(given, world):
    def try_it(world):
        first, second = (
            record_work(work_of(world, given), by=world.keeper, today=TODAY).record
            for _n in range(2)
        )
        before = what_counts(world.rig)

        merge = merge_records(second, into=first, by=world.keeper, today=TODAY)
        taken = 2 if given["supply"] else 0
        assert Supply.objects.get().stock == 9 - taken
        take_apart(merge, by=world.keeper, today=TODAY)

        assert what_counts(world.rig) == before

    in_its_own(world, try_it)


# --- with other people at it ----------------------------------------------------------


def buys(world, _record):
    buy(world.supply, by=world.other, amount=Decimal(5))


def reads(world, _record):
    meter = world.rig.meters.get(kind="odometer")
    record_reading(meter, by=world.other, today=TODAY, on=TODAY, value=Decimal(42400))


def finds(world, _record):
    open_finding(world.rig, by=world.other, on=TODAY, what="Scratch")


def works(world, _record):
    line = Line("Oil", world.items["engine_oil"])
    work = WorkDone(rig=world.rig, on=TODAY, lines=[line], doer="Ben",
                    supplies=[Take(world.supply, Decimal(1))])  # fmt: skip
    record_work(work, by=world.other, today=TODAY)


@pytest.mark.either_database
@EXAMPLES
@given(
    given=WORK,
    edits=st.lists(st.sampled_from([buys, reads, finds, works]), unique=True),
)
def test_taken_back_after_others_then_only_their_facts_remain(given, edits, world):
    results = []

    def only_theirs(world):
        for edit in edits:
            edit(world, None)
        results.append(what_counts(world.rig))

    def with_work(world):
        record = record_work(work_of(world, given), by=world.keeper, today=TODAY).record
        for edit in edits:
            edit(world, record)
        void_record(record, by=world.keeper, today=TODAY, why="other rig")
        results.append(what_counts(world.rig))

    in_its_own(world, only_theirs)
    in_its_own(world, with_work)

    assert results[0] == results[1]


def wheel_work(world):
    line = Line("Rotated", world.items["tire_rotate"])
    fault = Line("Lamp", None, Outcome.FAULT_FOUND, "dark")
    work = WorkDone(
        rig=world.rig,
        on=TODAY,
        lines=[line, fault],
        doer="Ann",
        values={"odometer": Decimal(42310)},
    )
    return record_work(work, by=world.keeper, today=TODAY)


@pytest.mark.parametrize("take_it_back", ["void", "undo"])
def test_what_others_built_on_stays_and_is_named(world, take_it_back):
    record = wheel_work(world).record
    reading = record.readings.get()
    confirm_reading(reading, by=world.other, today=TODAY)
    lamp = Finding.objects.get(what="Lamp: dark")
    judge_finding(
        lamp, by=world.other, what="Lamp: dark, wet inside", zone="", severity="soon",
        unfit=False,
    )  # fmt: skip

    if take_it_back == "void":
        follows = void_record(record, by=world.keeper, today=TODAY, why="other rig")
    else:
        follows = undone(record, world)

    reading.refresh_from_db()
    lamp.refresh_from_db()
    assert not reading.withdrawn
    assert not lamp.withdrawn
    assert len(follows.kept) == 2
    assert any("42310" in words for words in follows.kept)
    assert not Event.objects.filter(withdrawn=False).exists()


def test_put_off_again_since_then_the_new_day_stands(world):
    item = world.items["engine_oil"]
    work = WorkDone(rig=world.rig, on=TODAY, lines=[Line("Oil", item)], doer="Ann")
    record = record_work(work, by=world.keeper, today=TODAY).record
    later = TODAY + timedelta(days=5)
    defer(item, by=world.other, today=TODAY, why="Rain", until=later)

    void_record(record, by=world.keeper, today=TODAY, why="other rig")

    assert item.deferrals.get(ended=False).until == later


def test_finding_whose_plan_was_dropped_since_is_open_again(world):
    line = Line("Seal it", world.planned)
    work = WorkDone(rig=world.rig, on=TODAY, lines=[line], doer="Ann")
    record = record_work(work, by=world.keeper, today=TODAY).record
    PlanItem.objects.filter(pk=world.planned.pk).update(dropped_on=TODAY)

    void_record(record, by=world.keeper, today=TODAY, why="other rig")

    assert Finding.objects.get(what="Crack").state == FindingState.OPEN


# --- what follows ---------------------------------------------------------------------


def test_wheels_off_then_the_recheck_that_follows_is_said(world):
    follows = wheel_work(world).follows

    [window] = follows.opened
    assert window.item.key == "lug_recheck"
    assert window.opens == MeterPoint("odometer", Decimal(42360))
    assert window.closes == MeterPoint("odometer", Decimal(42410))
    assert window.unit == "mi"
    assert [finding.what for finding in follows.findings] == ["Lamp: dark"]
    assert follows.unfit == ()


def test_checked_too_early_then_from_when_it_counts_is_said(world):
    wheel_work(world)
    line = Line("Lugs", world.items["lug_recheck"], Outcome.HELD)
    work = WorkDone(
        rig=world.rig,
        on=TODAY,
        lines=[line],
        doer="Ann",
        values={"odometer": Decimal(42330)},
    )

    follows = record_work(work, by=world.keeper, today=TODAY).follows

    [window] = follows.early
    assert window.opens == MeterPoint("odometer", Decimal(42360))
    assert follows.settled == ()


def test_done_in_its_window_then_it_is_settled(world):
    wheel_work(world)
    line = Line("Lugs", world.items["lug_recheck"], Outcome.HELD)
    work = WorkDone(
        rig=world.rig,
        on=TODAY,
        lines=[line],
        doer="Ann",
        values={"odometer": Decimal(42370)},
    )

    follows = record_work(work, by=world.keeper, today=TODAY).follows

    assert [item.key for item in follows.settled] == ["lug_recheck"]
    assert follows.early == ()


def test_unfit_fault_then_the_rig_is_said_to_be_unfit(world):
    item = world.items["tire_rotate"]
    PlanItem.objects.filter(pk=item.pk).update(unfit=True)
    line = Line("Tires", item, Outcome.FAULT_FOUND, "cord shows")
    work = WorkDone(rig=world.rig, on=TODAY, lines=[line], doer="Ann")

    follows = record_work(work, by=world.keeper, today=TODAY).follows

    assert [str(one) for one in follows.unfit] == ["Tires: cord shows"]


# --- one door -------------------------------------------------------------------------


def test_same_token_twice_then_one_record_and_given_once(world):
    work = WorkDone(
        rig=world.rig,
        on=TODAY,
        lines=[Line("Oil", world.items["engine_oil"])],
        doer="Ann",
        form_token=uuid.uuid4(),
    )

    first, second = (record_work(work, by=world.keeper, today=TODAY) for _n in "12")

    assert (first.new, second.new) == (True, False)
    assert first.record == second.record
    assert ServiceRecord.objects.count() == 1
    assert Completion.objects.count() == 1
    assert JournalEntry.objects.filter(model="plans.completion").count() == 1


def test_second_check_of_a_series_lies_ahead_then_the_first_was_not_early(world):
    world.items["lug_recheck"].triggers = [
        {
            "after": {
                "event": "wheel_off",
                "distance": [[5, 10], [20, 25]],
                "unit": "mi",
                "meter": "odometer",
            }
        }
    ]
    world.items["lug_recheck"].save()
    wheel_work(world)
    line = Line("Lugs", world.items["lug_recheck"], Outcome.HELD)
    work = WorkDone(
        rig=world.rig,
        on=TODAY,
        lines=[line],
        doer="Ann",
        values={"odometer": Decimal(42318)},
    )

    assert record_work(work, by=world.keeper, today=TODAY).follows.early == ()
