"""What a history says of the work on record."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from maintenance.findings.models import Finding
from maintenance.service_records.models import (
    RecordLine,
    ServiceRecord,
    TorqueCheck,
)
from maintenance.vehicles.models import Event
from tests.builders import make_member, make_rig
from tests.packets.builders import make_record, make_torque
from tests.packets.reading import history_of, only_record, records_in

pytestmark = pytest.mark.django_db


def test_record_names_day_readings_and_who_did_it():
    rig = make_rig()
    make_record(
        rig,
        on=date(2026, 4, 1),
        values={"odometer": "42310", "generator": "311.4"},
        done_by="shop",
        doer="Juniper Wheel",
        place="Salt Road",
    )

    record = only_record(rig)

    assert record.on == "Apr 1, 2026"
    assert record.readings == ("42,310\xa0mi", "generator 311.4")
    assert record.by == "Juniper Wheel (shop), Salt Road"


def test_record_whose_day_is_not_known_says_between_which_days():
    rig = make_rig()
    make_record(rig, on=date(2026, 3, 1), until=date(2026, 3, 31))

    assert only_record(rig).on == "between Mar 1, 2026 and Mar 31, 2026"


def test_records_stand_newest_first_under_their_years():
    rig = make_rig()
    for on in (date(2024, 7, 1), date(2026, 1, 2), date(2026, 4, 1)):
        make_record(rig, on=on)

    history = history_of(rig)

    assert [year.year for year in history.years] == [2026, 2024]
    days = [record.on for record in records_in(history)]
    assert days == ["Apr 1, 2026", "Jan 2, 2026", "Jul 1, 2024"]


def test_plain_done_is_not_said_and_another_outcome_is():
    rig = make_rig()
    record = make_record(rig, titles=["Oil", "Roof"])
    RecordLine.objects.filter(record=record, title="Roof").update(outcome="serviceable")

    lines = only_record(rig).lines

    assert [(line.what, line.outcome) for line in lines] == [
        ("Oil", ""),
        ("Roof", "looked at, serviceable"),
    ]


def test_long_round_runs_its_simple_jobs_together_and_keeps_the_rest_apart():
    rig = make_rig()
    record = make_record(rig, titles=["Alarm", "Tires", "Washed", "Roof"])
    RecordLine.objects.filter(record=record, title="Tires").update(note="all at 80 psi")

    found = only_record(rig)

    assert [line.what for line in found.lines] == ["Tires"]
    assert found.routine == "Alarm; Washed; Roof"


def test_every_job_of_a_shop_keeps_its_own_line():
    rig = make_rig()
    jobs = ["Drums", "Brakes", "Springs", "Alignment"]
    make_record(rig, titles=jobs, done_by="shop")

    assert [line.what for line in only_record(rig).lines] == jobs


def test_torque_says_figure_origin_wrench_and_what_each_wheel_reached():
    rig = make_rig()
    make_torque(make_record(rig), moved="RF", wrench="half-inch drive")

    assert only_record(rig).torque == (
        "Wheel torque 110\xa0ft·lbf, from the manufacturer's manual, wrench: "
        "half-inch drive."
        " Reached 110\xa0ft·lbf: left front, left rear and right rear;"
        " Checked, a nut had moved: right front"
    )


def test_torque_that_all_wheels_reached_says_so_at_once():
    rig = make_rig()
    make_torque(make_record(rig))

    assert only_record(rig).torque.endswith("Reached 110\xa0ft·lbf: all wheels")


def test_torque_from_an_invoice_with_oiled_threads_says_so():
    rig = make_rig()
    make_torque(make_record(rig), origin="invoice", oiled=True)

    torque = only_record(rig).torque

    assert "from the invoice of the shop that fitted the wheel, oiled threads" in torque


@pytest.mark.parametrize(
    ("costs", "total", "parts"),
    [
        (
            {"total": "412.50", "parts": "120", "labor": "250", "tax": "42.50"},
            "$412.50",
            "Parts $120.00, labor $250.00, tax $42.50",
        ),
        (
            {"parts": "20", "labor": "1000.5"},
            "$1,020.50",
            "Parts $20.00, labor $1,000.50",
        ),
        ({"total": "0"}, "$0.00", ""),
        ({}, "", ""),
    ],
)
def test_costs_are_said_with_currency_and_only_if_known(costs, total, parts):
    rig = make_rig()
    fields: dict[str, Any] = {name: Decimal(value) for name, value in costs.items()}
    make_record(rig, **fields)

    record = only_record(rig)

    assert record.total == total
    assert record.costs.startswith(parts)


@pytest.mark.parametrize(
    ("entered_on", "late"),
    [
        (date(2026, 5, 1), ""),
        (date(2026, 5, 2), "31 days after the work"),
        (date(2026, 5, 16), "45 days after the work"),
    ],
)
def test_work_entered_more_than_thirty_days_later_says_so(entered_on, late):
    rig = make_rig()
    make_record(rig, make_member(rig.household, name="Ben"), entered_on=entered_on)

    record = only_record(rig)

    assert record.late == late
    assert record.entered.endswith("by Ben")


def test_day_of_entry_is_the_household_s_own():
    rig = make_rig()
    record = make_record(rig, on=date(2026, 4, 1))
    # 2 May, 03:00 in UTC is still 1 May in Denver: thirty days, not late.
    entered = datetime(2026, 5, 2, 3, tzinfo=UTC)
    ServiceRecord.objects.filter(pk=record.pk).update(entered_at=entered)

    found = only_record(rig)

    assert (found.entered, found.late) == ("Entered May 1, 2026", "")


def test_void_record_stays_with_day_name_and_reason():
    rig = make_rig()
    ann = make_member(rig.household, name="Ann")
    record = make_record(rig)
    ServiceRecord.objects.filter(pk=record.pk).update(
        voided_at=datetime(2026, 4, 3, 18, tzinfo=UTC),
        voided_by=ann,
        why_voided="it was the pickup",
    )

    assert only_record(rig).void == "voided Apr 3, 2026 by Ann: it was the pickup"


def test_void_record_counts_for_nothing():
    rig = make_rig()
    make_record(rig, total=Decimal(100))
    void = make_record(rig, total=Decimal(900), voided_at=datetime.now(UTC))

    history = history_of(rig)

    glance = dict(history.cover.glance)
    assert glance["Voided"] == "1, shown with the reason"
    assert glance["Paid, as recorded"] == "$100.00"
    assert history.years[0].summary == "2 records, $100.00"
    assert void.voided_at is not None


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ({"state": "open"}, "not fixed yet"),
        ({"state": "accepted", "why_accepted": "hairline"}, "left as it is: hairline"),
    ],
)
def test_fault_that_was_found_says_what_became_of_it(state, said):
    rig = make_rig()
    line = make_record(rig, outcome="fault_found").lines.get()
    found_on = date(2026, 4, 1)
    lamp = Finding.objects.create(rig=rig, what="Lamp", found_on=found_on, **state)
    line.finding_links.create(finding=lamp, how="found")

    assert only_record(rig).lines[0].fault == said


def test_fault_that_was_put_right_names_the_day():
    rig = make_rig()
    found = make_record(rig, on=date(2026, 4, 1), outcome="fault_found").lines.get()
    fixed = make_record(rig, on=date(2026, 4, 9)).lines.get()
    lamp = Finding.objects.create(
        rig=rig, what="Lamp", state="fixed", found_on=date(2026, 4, 1)
    )
    found.finding_links.create(finding=lamp, how="found")
    fixed.finding_links.create(finding=lamp, how="fixed")

    _newer, older = records_in(history_of(rig))

    assert older.lines[0].fault == "fixed Apr 9, 2026"


def test_record_says_what_it_raised():
    rig = make_rig()
    event = Event.objects.create(
        rig=rig, kind="wheel_off", on=date(2026, 4, 1), places=["LF", "RF"]
    )
    make_record(rig).events.add(event)

    assert only_record(rig).raised == ("Wheel off, left front and right front",)


@pytest.mark.parametrize(
    ("fields", "lines"),
    [
        ({"on": date(2026, 4, 1)}, 1),
        ({"on": date(2026, 4, 1), "values": {"odometer": "42310"}}, 2),
        ({"on": date(2026, 3, 1), "until": date(2026, 3, 31)}, 3),
    ],
)
def test_margin_keeps_room_for_day_and_readings(fields, lines):
    rig = make_rig()
    make_record(rig, **fields)

    assert only_record(rig).margin_lines == lines


def test_parts_are_said_with_number_count_and_price():
    record = make_record(make_rig())
    record.parts_used.create(name="Pad set", number="HX-2207", quantity=2, price="45")
    record.parts_used.create(name="Grease")

    assert only_record(record.rig).parts == ("Pad set HX-2207, 2 at $45.00", "Grease")


def test_parts_that_only_the_merged_record_names_are_not_lost():
    rig = make_rig()
    kept, other = make_record(rig), make_record(rig, total=Decimal(90))
    kept.parts_used.create(name="Pad set", number="HX-2207")
    other.parts_used.create(name="Pad set", number="HX-2207")
    other.parts_used.create(name="Grease")
    ServiceRecord.objects.filter(pk=other.pk).update(merged_into=kept)

    record = only_record(rig)

    assert record.parts == ("Pad set HX-2207", "Grease")
    assert record.merged[0].endswith("done by Ann, $90.00")


def test_warranty_says_what_it_covers_and_how_long():
    record = make_record(
        make_rig(),
        warranty_until=date(2027, 4, 1),
        warranty_meter="odometer",
        warranty_value=Decimal(52000),
        warranty_covers="the brakes",
    )

    said = "Warranty on the brakes until Apr 1, 2027 or 52,000\xa0mi"
    assert only_record(record.rig).warranty == said


def test_who_signed_off_is_named_with_the_license():
    record = make_record(make_rig(), signed_off_by="Jo Reed", credential="no. 4471")

    assert only_record(record.rig).signed == "Jo Reed, no. 4471"


def test_wrench_is_said_with_range_and_calibration_and_the_maker_s_figure_beside():
    record = make_record(make_rig())
    make_torque(
        record,
        origin="invoice",
        wrench="Half-inch drive",
        wrench_range="20 to 150 ft·lbf",
        wrench_calibrated=False,
        makers_figure=Decimal("120.0"),
        makers_source="Chassis book, p. 12",
    )

    said = only_record(record.rig).torque
    assert "wrench: Half-inch drive, 20 to 150 ft·lbf, calibration overdue" in said
    assert "Manufacturer's figure: 120\xa0ft·lbf (Chassis book, p. 12)" in said


def test_fastener_that_is_no_wheel_is_named_with_its_own_figure():
    record = make_record(make_rig())
    check = TorqueCheck.objects.create(record=record, figure=25, origin="manual")
    check.places.create(place="Drain plug", figure=30, reached=30)

    assert only_record(record.rig).torque == (
        "Torque 25\xa0ft·lbf, from the manufacturer's manual."
        " Reached 30\xa0ft·lbf of 30\xa0ft·lbf: Drain plug"
    )


def test_work_that_was_logged_twice_is_one_record_with_the_lines_of_both():
    rig = make_rig()
    ann = make_member(rig.household, name="Ann")
    kept = make_record(rig, titles=["Front brakes"])
    other = make_record(rig, ann, titles=["Front brakes", "Rear brakes"])
    ServiceRecord.objects.filter(pk=other.pk).update(merged_into=kept)

    record = only_record(rig)

    assert [line.what for line in record.lines] == ["Front brakes", "Rear brakes"]
    (said,) = record.merged
    assert said.startswith("Duplicate merged. Entered Apr 1, 2026 by Ann")


def test_record_that_came_from_a_file_names_file_and_row():
    record = make_record(make_rig())
    bringing = record.rig.brought.create(file_name="log.csv", sha256="0" * 64)
    bringing.rows.create(rig=record.rig, record=record, number=7, digest="1" * 64)

    assert only_record(record.rig).brought == "Imported from “log.csv”, row 7"
