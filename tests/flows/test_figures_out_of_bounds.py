"""A figure out of bounds is a fault found, through whatever door it is entered.

The limits: tread 4/32 in on the steer tires of a heavy motorhome, else 2/32 in, 49 CFR
393.75(b) and (c); regulator 10.5 to 11.5 in w.c. and standing draw 0.5 A, common
practice; rested lead-acid 12.4 V, common practice.
"""

import csv
import io
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.core.tables import propose_fields
from maintenance.exchange.exports.history import write_history
from maintenance.exchange.services import void_all
from maintenance.findings.models import Finding
from maintenance.households.models import Member
from maintenance.plans.measures import Measured
from maintenance.plans.models import Outcome
from maintenance.plans.services import MakersValue, set_maker_figure, take_on
from maintenance.plans.services import components as parts
from maintenance.service_records.models import RecordLine
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import report_event
from tests import builders
from tests.builders import TODAY
from tests.exchange.helpers import brought


@dataclass(frozen=True)
class Case:
    """`bad` is out of bounds, `limit` the last good one."""

    key: str
    name: str
    unit: str
    bad: str
    limit: str
    verdict: str
    said: str  # the limits, in the form
    unfit: bool
    place: str = ""

    @property
    def field(self) -> str:
        stem = f"m_{self.name.replace(' ', '_')}"
        return f"{stem}_{self.place}" if self.place else stem

    @property
    def written(self) -> str:
        """As a table of past work has it."""
        bad = f"{self.bad}/32 in" if self.name == "tread" else f"{self.bad} {self.unit}"
        return f"{self.name}: {self.place} {bad}"

    def measured(self, value: str) -> Measured:
        return Measured(self.name, Decimal(value), self.unit, self.place)


REGULATOR = Case(
    "propane_leak_check", "regulator pressure", "in w.c.", "16", "11.5",
    "regulator pressure 16 in w.c.: above the 11.5 in w.c. limit",
    "10.5 to 11.5 in w.c.", unfit=True,
)  # fmt: skip
TREAD = Case(
    "tire_condition", "tread", "1/32 in", "3", "4",
    "tread LF 3/32 in: below the 4/32 in limit",
    "at least 4/32 in", unfit=True, place="LF",
)  # fmt: skip
REAR = Case(
    "tire_condition", "tread", "1/32 in", "1", "2",
    "tread LR 1/32 in: below the 2/32 in limit",
    "at least 2/32 in", unfit=True, place="LR",
)  # fmt: skip
DRAW = Case(
    "standing_draw", "standing draw", "A", "1.9", "0.5",
    "standing draw 1.9 A: above the 0.5 A limit",
    "0 to 0.5 A", unfit=False,
)  # fmt: skip
RESTED = Case(
    "battery_rest_volts", "rested voltage", "V", "11.7", "12.4",
    "rested voltage 11.7 V: below the 12.4 V limit",
    "12.4 to 13.2 V", unfit=False,
)  # fmt: skip
CASES = pytest.mark.parametrize("case", [REGULATOR, TREAD, REAR, DRAW, RESTED])
LAST_YEAR = date(2025, 5, 4)
COLUMNS = {0: "on", 1: "what", 2: "measured", 3: "outcome", 4: "notes"}


NOW = "2026-05-04 18:00"


@pytest.fixture(autouse=True)
def _today(clock):
    clock(NOW, "America/Denver")


@pytest.fixture(scope="module")
def home(shared):
    def make():
        keeper = builders.make_member()
        rig = builders.make_rig(keeper.household)
        keys = ["tire_rotate", *(c.key for c in (REGULATOR, TREAD, DRAW, RESTED))]
        take_on(rig, by=keeper, today=date(2024, 1, 1), keys=keys)
        return keeper.pk, rig.pk

    with shared(make, at=NOW) as (pks, _files):
        yield pks


@pytest.fixture
def keeper(home, db):
    return Member.objects.get(pk=home[0])


@pytest.fixture
def rig(home, db):
    return Rig.objects.get(pk=home[1])


@pytest.fixture
def client(keeper, client_as):
    return client_as(keeper)


def item_of(rig, case):
    return rig.plan_items.get(key=case.key)


def url_of(rig, case):
    return reverse("record_work", args=[rig.pk]) + f"?item={item_of(rig, case).pk}"


def post(client, rig, case, value, outcome="done", **more):
    data = {
        "form_token": str(uuid4()),
        "on": TODAY.isoformat(),
        "done_by": "member",
        "doer": "Mara",
        "lines-TOTAL_FORMS": 1,
        "lines-INITIAL_FORMS": 1,
        "used-TOTAL_FORMS": 0,
        "used-INITIAL_FORMS": 0,
        "lines-0-item": item_of(rig, case).pk,
        "lines-0-outcome": outcome,
        "wheels-unit": "ft·lbf",
        f"measured-{case.field}": value,
    }
    page = client.post(url_of(rig, case), data | more, follow=True)
    return page.content.decode()


def enter(rig, by, case, value, on=TODAY, outcome=Outcome.DONE, note="", **more):
    """A record as the pages make it."""
    item = item_of(rig, case)
    measures = [case.measured(value)] if value else []
    lines = [Line(item.title, item, outcome, note, measures)]
    about = {"by": by, "today": TODAY, "form_token": uuid4(), "on": on, "doer": "Mara"}
    return builders.log_work(rig, lines=lines, **about, **more)


def bring(rig, by, *rows):
    """Rows of day, job, what was measured, outcome and notes."""
    text = "Date,Work,Measured,Outcome,Notes\n" + "\n".join(rows) + "\n"
    return brought(rig, by, text, columns=COLUMNS)


def row(rig, case, on, measured="", outcome="", notes=""):
    title = item_of(rig, case).title
    return ",".join(f'"{x}"' for x in (on, title, measured, outcome, notes))


def found():
    rows = Finding.objects.filter(withdrawn=False).order_by("pk")
    return [(one.what, one.unfit) for one in rows]


# --- the record form ------------------------------------------------------------------


@pytest.mark.either_database
@CASES
def test_bad_figure_in_the_form_then_a_fault_a_finding_and_words(client, rig, case):
    page = post(client, rig, case, case.bad)

    line = RecordLine.objects.get()
    assert (line.outcome, line.note) == ("fault_found", case.verdict)
    assert not line.completions.exists()
    assert found() == [(f"{line.title}: {case.verdict}", case.unfit)]
    assert f"Recorded as Fault found: {case.verdict}." in page
    assert ("unfit to travel" in page) == case.unfit


@pytest.mark.either_database
@CASES
def test_figure_at_its_limit_in_the_form_then_done(client, rig, case):
    page = post(client, rig, case, case.limit)

    assert RecordLine.objects.get().outcome == "done"
    assert found() == []
    assert "Recorded." in page


@pytest.mark.parametrize("outcome", ["serviceable", "held", "not_done"])
def test_bad_figure_by_another_name_then_a_fault_all_the_same(client, rig, outcome):
    post(client, rig, REGULATOR, "16", outcome, **{"lines-0-note": "Shop says fine"})

    line = RecordLine.objects.get()
    assert line.outcome == "fault_found"
    assert line.note == f"{REGULATOR.verdict}; Shop says fine"


@pytest.mark.either_database
@CASES
def test_form_then_it_says_the_limit_and_what_follows(client, rig, case):
    page = client.get(url_of(rig, case)).content.decode()

    assert case.said in page
    assert "is recorded as “Fault found” and goes on the Not right list" in page


def test_makers_figure_wins_over_the_library(client, rig, keeper):
    """The maker's book may ask for less: 12.2 V is then good."""
    set_maker_figure(
        item_of(rig, RESTED),
        by=keeper,
        today=TODAY,
        document="Battery book",
        values=[MakersValue("rested voltage", Decimal(12), "V", Decimal(13))],
    )

    post(client, rig, RESTED, "12.2")

    assert RecordLine.objects.get().outcome == "done"


def test_figure_in_another_unit_then_it_is_converted_first(client, rig):
    """0.05 in is 1.6/32 in: below 2/32 in."""
    post(client, rig, REAR, "0.05 in")

    assert RecordLine.objects.get().outcome == "fault_found"


def test_long_note_then_the_persons_words_stay_whole(rig, keeper):
    note = "x" * 290
    enter(rig, keeper, REGULATOR, "16", note=note)

    kept = RecordLine.objects.get().note
    assert kept.endswith(f"; {note}")
    assert len(kept) <= 300
    assert len(Finding.objects.get().what) == 300


def test_tires_rotated_with_one_worn_then_their_nuts_are_checked_again(rig, keeper):
    item = rig.plan_items.get(key="tire_rotate")
    builders.log_work(
        rig,
        by=keeper,
        today=TODAY,
        form_token=uuid4(),
        on=TODAY,
        doer="Shop",
        lines=[Line(item.title, item, measures=[TREAD.measured("1")])],
    )

    assert [event.kind for event in rig.events.all()] == ["wheel_off"]
    assert [unfit for _what, unfit in found()] == [True]


# --- the work sheet -------------------------------------------------------------------


@CASES
def test_bad_figure_on_the_work_sheet_then_done_is_recorded_as_a_fault(
    client, rig, case
):
    sheet = reverse("keep_sheet", args=[item_of(rig, case).pk])
    said = client.post(
        sheet, {"field": case.field, case.field: case.bad}, headers={"HX-Request": "1"}
    ).content.decode()
    assert case.verdict.split(": ")[1] in said

    form = client.get(url_of(rig, case)).context["forms"]
    assert form.lines[0]["outcome"].value() == "fault_found"
    assert form.lines[0]["note"].value() == case.verdict
    post(client, rig, case, form.measures[case.field].value())

    assert RecordLine.objects.get().outcome == "fault_found"
    assert [unfit for _what, unfit in found()] == [case.unfit]


# --- amending -------------------------------------------------------------------------


def amend(client, record, **changes):
    line = record.lines.get()
    data = {
        "form_token": str(record.form_token),
        "on": record.on.isoformat(),
        "done_by": "member",
        "doer": "Mara",
        "why": "read again",
        "lines-TOTAL_FORMS": 1,
        "lines-INITIAL_FORMS": 1,
        "lines-0-item": line.item_id,
        "lines-0-outcome": line.outcome,
        "lines-0-note": line.note,
    }
    given = {k.replace("value", f"figures-line_{line.pk}_0"): v
             for k, v in changes.items()}  # fmt: skip
    answer = client.post(reverse("amend_record", args=[record.pk]), data | given)
    assert answer.status_code == 302


def test_good_figure_amended_to_a_bad_one_then_a_fault(client, rig, keeper):
    record = enter(rig, keeper, REGULATOR, "11")

    amend(client, record, value="16")

    assert RecordLine.objects.get().outcome == "fault_found"
    assert [unfit for _what, unfit in found()] == [True]


def test_slip_amended_then_nothing_of_it_stays(client, rig, keeper):
    record = enter(rig, keeper, REGULATOR, "111")

    amend(client, record, value="11.1", **{"lines-0-outcome": "done"})

    line = RecordLine.objects.get()
    assert (line.outcome, line.note) == ("done", "")
    assert found() == []


# --- the import -----------------------------------------------------------------------


@CASES
def test_bad_figure_of_a_table_then_a_fault_and_a_finding(rig, keeper, case):
    bring(rig, keeper, row(rig, case, LAST_YEAR, case.written))

    line = RecordLine.objects.get()
    assert (line.outcome, line.note) == ("fault_found", case.verdict)
    assert not line.completions.exists()
    assert found() == [(f"{line.title}: {case.verdict}", case.unfit)]


@CASES
def test_bad_figure_named_in_the_notes_of_a_table_then_a_fault(rig, keeper, case):
    bring(rig, keeper, row(rig, case, LAST_YEAR, notes=f"Cold. {case.written}. Wind"))

    assert RecordLine.objects.get().outcome == "fault_found"


@pytest.mark.parametrize(
    "notes", ["tread was LF 1/32 in once", "tread LF 1", "1/32 in"]
)
def test_words_of_a_table_that_are_no_figure_then_just_words(rig, keeper, notes):
    bring(rig, keeper, row(rig, TREAD, LAST_YEAR, notes=notes))

    assert RecordLine.objects.get().measures == []


@CASES
def test_figure_at_its_limit_in_a_table_then_done(rig, keeper, case):
    good = case.written.replace(case.bad, case.limit, 1)
    bring(rig, keeper, row(rig, case, LAST_YEAR, good))

    assert RecordLine.objects.get().outcome == "done"
    assert RecordLine.objects.get().measures[0]["value"] == case.limit
    assert found() == []


def test_fault_told_in_words_by_a_table_then_the_newest_opens_a_finding(rig, keeper):
    bring(
        rig,
        keeper,
        row(rig, TREAD, LAST_YEAR, outcome="Fault found", notes="nail"),
        row(rig, DRAW, LAST_YEAR, outcome="Fault found"),
        row(rig, DRAW, LAST_YEAR + timedelta(days=9), outcome="Done"),
    )

    assert [what for what, _unfit in found()] == [item_of(rig, TREAD).title]


def test_file_is_voided_then_its_findings_are_gone(rig, keeper):
    made = bring(rig, keeper, row(rig, REGULATOR, LAST_YEAR, REGULATOR.written))

    void_all(made, by=keeper, today=TODAY, why="wrong rig")

    assert found() == []


# --- of figures of the past only the newest, on what is fitted now --------------------


def test_older_bad_figure_after_a_newer_good_one_then_a_fault_without_a_finding(
    rig, keeper
):
    enter(rig, keeper, TREAD, "9")

    enter(rig, keeper, TREAD, "1", on=LAST_YEAR)

    assert RecordLine.objects.latest("pk").outcome == "fault_found"
    assert found() == []


def test_newer_good_figure_of_another_wheel_then_the_older_one_stands(rig, keeper):
    item = item_of(rig, TREAD)
    right = Measured("tread", Decimal(9), "1/32 in", "RF")
    about = {"by": keeper, "today": TODAY, "doer": "Mara", "on": TODAY}
    line = Line(item.title, item, measures=[right])
    builders.log_work(rig, lines=[line], form_token=uuid4(), **about)

    enter(rig, keeper, TREAD, "1", on=LAST_YEAR)

    assert len(found()) == 1


def test_table_of_years_then_the_newest_figure_alone_opens_a_finding(rig, keeper):
    bring(
        rig,
        keeper,
        row(rig, REGULATOR, "2025-03-01", "regulator pressure 14 in w.c."),
        row(rig, REGULATOR, "2023-03-01", "regulator pressure 16 in w.c."),
        row(rig, REGULATOR, "2024-03-01", "regulator pressure 11 in w.c."),
        row(rig, TREAD, "2024-03-01", "tread: LF 1/32 in, RF 1/32 in"),
        row(rig, TREAD, "2025-03-01", "tread: LF 9/32 in"),
    )

    outcomes = RecordLine.objects.order_by("pk").values_list("outcome", flat=True)
    assert [x == "fault_found" for x in outcomes] == [True, True, False, True, True]
    assert sorted(what.split(": ", 1)[1] for what, _unfit in found()) == [
        "regulator pressure 14 in w.c.: above the 11.5 in w.c. limit",
        # Nobody told of a new tire there.
        "tread LF 9/32 in: 8/32 in above last time, tread doesn't grow: record the tire"
        " if it was replaced or moved, else measure again in the same groove",
        "tread RF 1/32 in: below the 4/32 in limit",
    ]


def test_tread_measured_at_another_job_since_then_that_figure_counts(rig, keeper):
    rotate = rig.plan_items.get(key="tire_rotate").title
    bring(
        rig,
        keeper,
        row(rig, TREAD, "2024-03-01", "tread: LF 1/32 in"),
        f'2025-03-01,"{rotate}","tread: LF 8/32 in",,',
    )

    assert found() == []


def tire(rig, by, on, place="LF"):
    return parts.add_part(rig, by=by, today=TODAY, kind="tire", on=on, place=place)


def test_tire_replaced_since_then_its_figure_opens_no_finding(rig, keeper):
    old = tire(rig, keeper, date(2023, 1, 1))
    parts.put_part_aside(
        old, by=keeper, today=TODAY, on=date(2025, 9, 1), scrap=True, why="worn"
    )
    tire(rig, keeper, date(2025, 9, 1))

    enter(rig, keeper, TREAD, "1", on=LAST_YEAR)
    assert found() == []

    enter(rig, keeper, TREAD, "1", on=date(2025, 10, 1))
    assert len(found()) == 1


def test_tire_fitted_since_to_a_place_without_one_then_no_finding(rig, keeper):
    tire(rig, keeper, date(2025, 9, 1))

    enter(rig, keeper, TREAD, "1", on=LAST_YEAR)

    assert found() == []


def test_tires_replaced_as_an_event_since_then_no_finding(rig, keeper):
    report_event(
        rig, by=keeper, today=TODAY, kind="tire_replaced", on=date(2025, 9, 1),
        places=["LF"],
    )  # fmt: skip

    enter(rig, keeper, TREAD, "1", on=LAST_YEAR)
    assert found() == []

    enter(rig, keeper, TREAD, "1")
    assert len(found()) == 1


def test_tire_moved_to_another_wheel_since_then_its_figure_goes_with_it(rig, keeper):
    worn = tire(rig, keeper, date(2023, 1, 1))
    parts.move_part(
        worn, by=keeper, today=TODAY, rig=rig, place="RR", on=date(2025, 9, 1)
    )

    enter(rig, keeper, TREAD, "1", on=LAST_YEAR)

    assert "tread LF, now RR, 1/32 in" in found()[0][0]


def test_battery_fitted_since_then_the_figure_of_the_one_before_opens_no_finding(
    rig, keeper
):
    parts.add_part(
        rig, by=keeper, today=TODAY, kind="battery", type="house", keys=[RESTED.key],
        on=date(2025, 9, 1),
    )  # fmt: skip

    enter(rig, keeper, RESTED, "11.7", on=LAST_YEAR)  # of the one before
    assert found() == []

    enter(rig, keeper, RESTED, "11.7", on=date(2026, 1, 1))
    assert len(found()) == 1


def test_fault_told_in_words_in_the_form_then_a_finding_whatever_came_later(
    rig, keeper
):
    enter(rig, keeper, TREAD, "9")

    enter(rig, keeper, TREAD, "", LAST_YEAR, Outcome.FAULT_FOUND, "a nail")

    assert len(found()) == 1


def test_history_taken_out_then_brought_in_again_with_its_figures(rig, keeper):
    enter(rig, keeper, TREAD, "9")
    out = io.StringIO()
    write_history(rig, out)
    other = builders.make_rig(keeper.household)
    take_on(other, by=keeper, today=date(2024, 1, 1), keys=[TREAD.key])

    names = next(csv.reader([out.getvalue().splitlines()[0]]))
    brought(other, keeper, out.getvalue(), columns=propose_fields(names, {}))

    assert RecordLine.objects.get(record__rig=other).measures == [
        {"name": "tread", "value": "9", "unit": "1/32 in", "place": "LF"}
    ]
