"""Figures beside those of before: out of bounds they are a fault, as past a limit."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from maintenance.components.models import Component, Fitting
from maintenance.findings.services import accept_finding
from maintenance.households.refusals import Refused
from maintenance.plans.measures import Measured
from maintenance.service_records.amending import Amended, amend_record
from maintenance.service_records.giving import open_past_findings
from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.service_records.services import record_many, record_work, void_record
from maintenance.service_records.trends import trend_faults
from maintenance.service_records.work import Line, WorkDone
from maintenance.work_sheets.kept import keep
from tests import builders
from tests.builders import TODAY

DAY = timedelta(days=1)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


@pytest.fixture
def tread(rig):
    return builders.make_item(rig, key="tire_condition")


@pytest.fixture
def battery(rig):
    return builders.make_item(rig, key="battery_rest_volts")


def figures(name, unit, **values):
    return [Measured(name, Decimal(str(v)), unit, place) for place, v in values.items()]


def saved(keeper, item, measures, days_ago):
    """What `record_work` answers, as every door gets it."""
    work = WorkDone(
        rig=item.rig,
        on=TODAY - days_ago * DAY,
        lines=[Line(item.title, item, measures=measures)],
        doer="Mara",
        form_token=uuid4(),
    )
    return record_work(work, by=keeper, today=TODAY)


def faults(found):
    return [x.note for x in found.record.lines.all() if x.outcome == "fault_found"]


def treads(keeper, item, days_ago, **values):
    return saved(keeper, item, figures("tread", "1/32 in", **values), days_ago)


def test_tread_that_grew_then_a_fault_with_the_procedure_s_words(keeper, rig, tread):
    treads(keeper, tread, 40, LF=4, RF=8)

    found = treads(keeper, tread, 2, LF=8, RF=8)

    line, finding = found.record.lines.get(), rig.findings.get()
    assert line.outcome == "fault_found"
    assert line.note.startswith(
        "tread LF 8/32 in: 4/32 in above last time, tread doesn't grow"
    )
    assert finding.what == f"{line.title}: {line.note}"
    assert not finding.unfit  # the procedure calls a person's finding unfit, no trend
    assert list(found.follows.findings) == [finding]


def test_tread_that_wore_then_no_fault(keeper, tread):
    treads(keeper, tread, 40, LF=8)

    assert not faults(treads(keeper, tread, 2, LF=5))


def test_earlier_record_void_then_nothing_to_hold_it_against(keeper, tread):
    old = treads(keeper, tread, 40, LF=4).record
    void_record(old, by=keeper, today=TODAY, why="Wrong rig")

    assert not faults(treads(keeper, tread, 2, LF=8))


def test_work_of_the_past_then_only_what_was_before_it_counts(keeper, tread):
    treads(keeper, tread, 2, LF=4)

    assert not faults(treads(keeper, tread, 40, LF=8))


@pytest.mark.parametrize(
    ("kind", "places", "asked"),
    [
        ("wheel_off", ["LF"], False),  # it may be another tire now
        ("tire_replaced", [], False),
        ("wheel_off", ["RF"], True),
        ("battery_replaced", [], True),
    ],
)
def test_wheel_that_was_off_between_then_figures_start_anew(
    keeper, rig, tread, kind, places, asked
):
    treads(keeper, tread, 40, LF=4)
    rig.events.create(kind=kind, on=TODAY - 20 * DAY, places=places)

    assert bool(faults(treads(keeper, tread, 2, LF=8))) is asked


@pytest.mark.parametrize("same", [True, False])
def test_tire_kept_by_itself_then_its_own_figures_count(keeper, rig, tread, same):
    first = _tire(rig, TODAY - 400 * DAY, None if same else TODAY - 20 * DAY)
    if not same:
        _tire(rig, TODAY - 20 * DAY, None)
    rig.events.create(kind="wheel_off", on=TODAY - 20 * DAY, places=["LF"])
    treads(keeper, tread, 40, LF=4)

    assert bool(faults(treads(keeper, tread, 2, LF=8))) is same
    assert first.fittings.count() == 1


def _tire(rig, start, end):
    tire = Component.objects.create(
        household=rig.household, kind="tire", rig=rig, place="" if end else "LF"
    )
    Fitting.objects.create(component=tire, rig=rig, place="LF", start=start, end=end)
    return tire


def test_battery_that_rests_lower_than_usual_then_a_fault(keeper, battery):
    for n, value in enumerate(("12.8", "12.7", "12.8")):
        found = saved(
            keeper, battery, figures("rested voltage", "V", House=value), 90 - 20 * n
        )
        assert not faults(found)

    found = saved(keeper, battery, figures("rested voltage", "V", House="12.5"), 1)

    [words] = faults(found)
    assert "0.3 V below what is usual" in words
    assert "have it load-tested" in words


def test_battery_replaced_then_its_habit_starts_anew(keeper, rig, battery):
    for n in range(3):
        saved(keeper, battery, figures("rested voltage", "V", House="12.8"), 90 - n)
    rig.events.create(kind="battery_replaced", on=TODAY - 20 * DAY)

    found = saved(keeper, battery, figures("rested voltage", "V", House="12.5"), 1)

    assert not faults(found)


def test_record_page_says_it_in_its_note_and_looks_up_nothing(keeper, tread, client_as):
    treads(keeper, tread, 40, LF=4)
    record = treads(keeper, tread, 2, LF=8).record
    browser, page = client_as(keeper), reverse("record", args=[record.pk])

    assert "4/32 in above last time" in browser.get(page).text

    plain = treads(keeper, tread, 41, LF=8).record
    with CaptureQueriesContext(connection) as of_plain:
        browser.get(reverse("record", args=[plain.pk]))
    with CaptureQueriesContext(connection) as of_fault:
        browser.get(page)
    assert len(of_fault) == len(of_plain)


def test_the_owner_leaves_it_as_it_is_with_a_reason_alone(keeper, rig, tread):
    treads(keeper, tread, 40, LF=4)
    treads(keeper, tread, 2, LF=8)
    finding = rig.findings.get()

    with pytest.raises(Refused, match="Enter why"):
        accept_finding(finding, by=keeper, why=" ")
    accept_finding(finding, by=keeper, why="Measured in a worn groove last time")

    assert finding.state == "accepted"


def test_figure_corrected_then_the_fault_and_its_words_are_gone(keeper, rig, tread):
    treads(keeper, tread, 40, LF=4)
    record = treads(keeper, tread, 2, LF=8).record
    row = record.lines.get()
    line = Line(
        row.title,
        tread,
        note=f"{row.note}; by flashlight",
        measures=figures("tread", "1/32 in", LF=4),
    )

    amend_record(record, by=keeper, today=TODAY, why="Misread", to=as_now(record, line))

    row.refresh_from_db()
    assert (row.outcome, row.note) == ("done", "by flashlight")
    assert not rig.findings.filter(withdrawn=False).exists()


def test_figure_corrected_to_one_that_is_out_then_a_fault(keeper, rig, tread):
    treads(keeper, tread, 40, LF=4)
    record = treads(keeper, tread, 2, LF=4).record
    line = Line(
        record.lines.get().title, tread, measures=figures("tread", "1/32 in", LF=9)
    )

    amend_record(record, by=keeper, today=TODAY, why="Misread", to=as_now(record, line))

    assert "5/32 in above last time" in rig.findings.get(withdrawn=False).what


def as_now(record, line):
    return Amended(record.on, None, [(record.lines.get(), line)], values={})


def test_many_of_the_past_then_the_newest_figure_tells(keeper, rig, tread):
    """Taken from a file: what grew and was measured again since is no fault now."""
    works = [
        WorkDone(
            rig=rig,
            on=TODAY - days * DAY,
            lines=[
                Line("Tread", tread, measures=figures("tread", "1/32 in", LF=lf, RF=rf))
            ],
            doer="Mara",
        )
        for days, lf, rf in ((90, 4, 5), (60, 9, 5), (30, 8, 9))
    ]

    records = record_many(rig, works, by=keeper, today=TODAY)
    kept = ServiceRecord.objects.filter(pk__in=[one.pk for one in records])
    open_past_findings(rig, kept, by=keeper)

    outcomes = [one.lines.get().outcome for one in records]
    assert outcomes == ["done", "fault_found", "fault_found"]
    [finding] = rig.findings.all()
    assert "tread RF 9/32 in: 4/32 in above last time" in finding.what


def test_figure_past_its_limit_then_named_once(keeper, battery):
    for n in range(3):
        saved(keeper, battery, figures("rested voltage", "V", House="12.8"), 90 - n)

    [words] = faults(
        saved(keeper, battery, figures("rested voltage", "V", House="11.9"), 1)
    )

    assert "limit" in words
    assert "usual" not in words


def test_sheet_with_a_figure_that_is_out_then_the_form_begins_with_the_fault(
    keeper, rig, tread, client_as
):
    treads(keeper, tread, 40, LF=4)
    browser, page = client_as(keeper), reverse("record_work", args=[rig.pk])
    keep(tread, by=keeper, now=timezone.now(), field="m_tread_LF", value="8")

    form = browser.get(page, {"item": tread.pk}).text

    assert "4/32 in above last time" in form


def test_many_records_then_as_many_queries_as_for_one(
    keeper, tread, django_assert_max_num_queries
):
    records = [treads(keeper, tread, 50 - n, LF=8).record for n in range(6)]
    rows = RecordLine.objects.filter(record__in=records)
    lines = list(rows.select_related("record__rig__household", "item__component"))

    with django_assert_max_num_queries(8):
        assert trend_faults(lines) == [()] * 6
