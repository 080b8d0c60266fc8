"""From a file to records: verdicts, what comes in, and only once."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.exchange import services
from maintenance.exchange.imports.files import source_of_text
from maintenance.exchange.imports.verdicts import judge
from maintenance.exchange.models import ImportedRow, RememberedAnswer
from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused
from maintenance.plans.models import Standing
from maintenance.plans.standings import recheck
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.giving import give
from maintenance.service_records.journal import take_back
from maintenance.service_records.models import ServiceRecord, SupplyUsed
from maintenance.supplies.models import Supply
from maintenance.vehicles.models import Reading
from tests.builders import TODAY, make_household, make_item, make_member, make_rig

from .helpers import COLUMNS, LOG, brought, fresh, looked_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def rig():
    return make_rig(make_household())


@pytest.fixture
def crew(rig):
    return make_member(rig.household, "keeper")


def verdicts(bringing) -> list[tuple[str, str]]:
    rows = judge(bringing, today=TODAY).rows
    return [(row.verdict, " ".join(row.reasons)) for row in rows]


def test_file_then_records_with_their_readings_costs_and_provenance(rig, crew):
    made = brought(rig, crew)

    invoice, wash = ServiceRecord.objects.order_by("on")
    assert (made.state, made.added, made.total) == ("done", 3, 3)
    assert [line.title for line in invoice.lines.all()] == [
        "Engine oil",
        "Cabin filter",
    ]
    assert (invoice.total, invoice.doer) == (Decimal("150.50"), "Bergen Garage")
    assert "Filter too" in invoice.notes
    assert "A-17" in invoice.notes
    assert invoice.is_late_entry
    assert wash.readings.get().value == 31000
    assert list(invoice.brought_rows.values_list("number", flat=True)) == [2, 3]


def test_job_that_is_an_item_then_the_item_counts_from_it(rig, crew):
    item = make_item(rig)

    brought(rig, crew)

    assert item.completions.get().on == date(2024, 5, 20)
    assert Standing.objects.get(item=item).standing == "overdue"
    rig.household.refresh_from_db()
    assert recheck(rig.household, as_of=TODAY) == []


def test_same_file_again_then_nothing_is_added(rig, crew):
    brought(rig, crew)
    again = looked_at(rig, crew)

    assert [word for word, _why in verdicts(again)] == ["known"] * 3
    with pytest.raises(Refused, match="no rows to import"):
        services.start(again, by=crew, today=TODAY, with_doubtful=True)


def test_longer_file_in_other_columns_then_only_the_new_row_is_added(rig, crew):
    brought(rig, crew)
    longer = (
        "What;Day;km or mi;Garage;Bill;Sum;Remarks\n"
        "Engine oil;20/05/2024;30000;Bergen Garage;A-17;120.5;Filter too\n"
        "Wash;02/11/2024;31,000;;;;\n"
        "Roof sealed;05/01/2025;31500;;;;\n"
    )
    columns = {0: "what", 1: "on", 2: "odometer", 3: "doer", 4: "invoice", 5: "total",
               6: "notes"}  # fmt: skip

    made = brought(rig, crew, longer, columns=columns, decimal_comma=False)

    assert made.added == 1
    assert ServiceRecord.objects.count() == 3


def test_rows_alike_within_a_file_then_both_come_in_and_again_neither(rig, crew):
    twice = "Date,Work\n2024-05-20,Tire\n2024-05-20,Tire\n"
    columns = {0: "on", 1: "what"}

    assert brought(rig, crew, twice, columns=columns).added == 2
    again = looked_at(rig, crew, twice, columns=columns)
    assert [word for word, _why in verdicts(again)] == ["known", "known"]


def test_file_for_another_rig_then_it_comes_in_there_too(rig, crew):
    brought(rig, crew)
    other = make_rig(rig.household)

    assert brought(other, crew).added == 3


@pytest.mark.parametrize(
    ("row", "verdict", "word"),
    [
        ("2024-05-20,Oil,30000", "good", ""),
        ("2024-05-20,,30000", "refused", "What was done"),
        (",Oil,30000", "refused", "The day is missing"),
        ("31.31.2024,Oil,30000", "refused", "isn't a day"),
        ("2030-01-01,Oil,30000", "refused", "in the future"),
        ("2001-01-01,Oil,", "doubtful", "before the rig went into service"),
        ("2024-05-20,Oil,about 3e4", "doubtful", "kept in the notes"),
        ("2024-05-20,Oil,-5", "doubtful", "kept in the notes"),
    ],
)
def test_row_then_its_verdict_with_the_reason(rig, crew, row, verdict, word):
    columns = {0: "on", 1: "what", 2: "odometer"}
    made = looked_at(rig, crew, f"Date,Work,Miles\n{row}\n", columns=columns)

    ((found, why),) = verdicts(made)
    assert found == verdict
    assert word in why


def test_reading_that_does_not_fit_the_others_then_doubtful_and_kept(rig, crew):
    text = (
        "Date,Work,Miles\n2024-01-01,Oil,30000\n2024-02-01,Wash,300\n"
        "2024-03-01,Oil,31000\n"
    )
    columns = {0: "on", 1: "what", 2: "odometer"}
    made = looked_at(rig, crew, text, columns=columns)

    assert [word for word, _why in verdicts(made)] == ["good", "doubtful", "good"]
    brought(rig, crew, text, columns=columns)
    assert Reading.objects.get(doubtful=True).value == 300


def test_kilometers_for_a_meter_in_miles_then_converted(rig, crew):
    text = "Date,Work,Distance\n2024-01-01,Oil,1609.344\n"

    brought(rig, crew, text, columns={0: "on", 1: "what", 2: "odometer"},
            distance_unit="km")  # fmt: skip

    assert Reading.objects.get().value == 1000  # 1 mi = 1.609344 km exactly


def test_what_the_file_leaves_open_then_it_must_be_answered(rig, crew):
    text = 'Date,Work,Miles\n04/05/2024,Oil,"1,234"\n'
    columns = {0: "on", 1: "what", 2: "odometer"}

    with pytest.raises(Refused, match="days"):
        looked_at(rig, crew, text, columns=columns, decimal_comma=True)
    with pytest.raises(Refused, match="figures"):
        looked_at(rig, crew, text, columns=columns, day_order="dmy")
    with pytest.raises(Refused, match="distances"):
        looked_at(rig, crew, text, columns=columns, day_order="dmy",
                  decimal_comma=True, distance_unit="")  # fmt: skip
    made = looked_at(
        rig, crew, text, columns=columns, day_order="dmy", decimal_comma=True
    )
    (row,) = judge(made, today=TODAY).rows
    assert (row.on, row.values) == (date(2024, 5, 4), {"odometer": Decimal("1.2")})


def test_columns_without_a_day_or_chosen_twice_then_refused(rig, crew):
    made = services.begin(rig, by=crew, source=source_of_text("log.csv", LOG))

    for columns in ({1: "what"}, {0: "on"}, {0: "on", 1: "what", 2: "what"}):
        with pytest.raises(Refused):
            services.choose_columns(made, by=crew, columns=columns)


def test_choices_then_remembered_for_the_household(rig, crew):
    make_item(rig)
    brought(rig, crew)

    columns = services.remembered(rig.household, RememberedAnswer.About.COLUMN)
    jobs = services.remembered(rig.household, RememberedAnswer.About.JOB)
    assert columns["mileage"] == "odometer"
    assert jobs == {"engine oil": "engine_oil", "cabin filter": "", "wash": ""}


def test_void_all_then_every_record_is_void_and_the_file_may_come_again(rig, crew):
    item = make_item(rig)
    made = brought(rig, crew)

    services.void_all(made, by=crew, today=TODAY, why="Wrong rig")

    assert not ServiceRecord.objects.standing_records().exists()
    assert item.completions.get().withdrawn
    assert not Reading.objects.filter(withdrawn=False).exists()
    assert Standing.objects.get(item=item).standing == "unknown"
    assert brought(rig, crew).added == 3
    assert ImportedRow.objects.filter(withdrawn=False).count() == 3


def test_void_all_then_the_chain_still_verifies_and_says_why(rig, crew):
    made = brought(rig, crew)

    services.void_all(made, by=crew, today=TODAY, why="Wrong rig")

    assert not verify(rig).found
    texts = rig.chain.values_list("text", flat=True)
    assert sum("Wrong rig" in text for text in texts) == 2


def test_void_all_of_one_amended_to_use_supplies_then_they_are_in_stock_again(
    rig, crew
):
    made = brought(rig, crew)
    record = ServiceRecord.objects.order_by("on").first()
    supply = Supply.objects.create(household=rig.household, name="Filter", stock=5)
    SupplyUsed.objects.create(
        record=record, supply=supply, name="Filter", amount=2, unit="piece"
    )
    take_back([record], today=TODAY)
    give([record], by=crew, today=TODAY, again=True)
    supply.refresh_from_db()
    assert supply.stock == 3

    services.void_all(made, by=crew, today=TODAY, why="Wrong rig")

    supply.refresh_from_db()
    assert supply.stock == 5
    assert not ServiceRecord.objects.standing_records().exists()


def test_void_all_by_crew_or_without_a_reason_then_refused(rig, crew):
    made = brought(rig, crew)

    with pytest.raises(Refused, match="why"):
        services.void_all(made, by=crew, today=TODAY, why=" ")
    with pytest.raises(NotAllowed):
        services.void_all(
            made, by=make_member(rig.household, "crew"), today=TODAY, why="x"
        )


def test_forget_then_only_a_file_of_which_nothing_came_in(rig, crew):
    kept = brought(rig, crew)
    with pytest.raises(Refused):
        services.forget(kept, by=crew)

    services.forget(looked_at(rig, crew), by=crew)
    assert fresh(kept).added == 3


@pytest.mark.parametrize("act", ["begin", "columns", "answer", "start", "stop"])
def test_viewer_then_nothing_is_allowed(rig, crew, act):
    viewer = make_member(rig.household, "viewer")
    made = looked_at(rig, crew)
    acts = {
        "begin": lambda: services.begin(
            rig, by=viewer, source=source_of_text("a", LOG)
        ),
        "columns": lambda: services.choose_columns(made, by=viewer, columns=COLUMNS),
        "answer": lambda: services.answer(made, by=viewer, jobs={}),
        "start": lambda: services.start(
            made, by=viewer, today=TODAY, with_doubtful=True
        ),
        "stop": lambda: services.stop(made, by=viewer),
    }

    with pytest.raises(NotAllowed):
        acts[act]()
