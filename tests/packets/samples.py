"""A history made by hand: no database behind it."""

from dataclasses import replace

from maintenance.packets.history.model import (
    Cover,
    DatedRow,
    History,
    Line,
    MeterSheet,
    MonthsRow,
    Open,
    Proof,
    Record,
    Standings,
    Year,
    YearRow,
)

# One red dot.
DOT = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8"
    "z8BQDwAEhQGAhKmMIQAAAABJRU5ErkJggg=="
)

RECORD = Record(
    anchor="record-1",
    on="Apr 30, 2026",
    title="Wheels off; Brake linings measured",
    lines=(Line("Wheels off", ""), Line("Brake linings", "fault found", fault="open")),
    by="Juniper Wheel (shop)",
    readings=("45,660 mi", "generator 312 h"),
    torque="Wheel torque 110 ft·lbf, from the manufacturer's manual",
    total="$412.50",
    costs="Parts 120.00",
    notes="Light scoring.",
    proof=(
        Proof("drum.jpg", "photo", "0082b6295d291c82", photo=DOT),
        Proof("invoice.pdf", "PDF", "e16fa5d9b5192875", problem="the file is missing"),
    ),
    entered="Entered Jun 14, 2026 by Ann",
    late="45 days after the work",
)
VOID = replace(
    RECORD, anchor="record-2", proof=(), void="voided May 2, 2026: wrong rig"
)

HISTORY = History(
    title="Marlow: Service History",
    household="Alder Lane",
    as_of="May 4, 2026",
    made="May 4, 2026, 10:15 by Ann",
    paper="letter",
    cover=Cover(
        rig="Marlow",
        kind="Motorhome, 2019",
        facts=(("Plate", "ALD 204"),),
        meters=("Odometer: 45,680 mi on May 4, 2026",),
        glance=(("Work on record", "2 records"),),
    ),
    standings=Standings(
        as_of="May 4, 2026",
        unfit=("Lug nuts: check again",),
        open=(
            Open(
                "overdue",
                "Overdue",
                "Lug nuts: check again",
                rule="50 to 100 mi after: wheel off",
            ),
        ),
        ahead=(Open("later", "Later", "Roof seams", "1 to Jul 12, 2027"),),
    ),
    years=(Year(2026, "2 records, $412.50", (RECORD, VOID)),),
    by_year=(YearRow(2026, ("2,480 mi",), "2", "$412.50"),),
    meters=(
        MeterSheet(
            name="Odometer",
            summary="Odometer: 45,680 mi",
            months=(MonthsRow(2026, ("43,280",) + ("",) * 11),),
            rows=(DatedRow("Mar 2, 2026", "152,000 mi", "questionable, not counted"),),
        ),
    ),
    events=(DatedRow("Apr 1, 2026", "Wheel off", "left front"),),
    stays=(DatedRow("Nov 5, 2025 to Mar 20, 2026", "Barn", "not winterized"),),
)


def with_records(number: int) -> History:
    records = tuple(
        replace(RECORD, anchor=f"record-{n}", title=f"Job {n}") for n in range(number)
    )
    return replace(HISTORY, years=(Year(2026, f"{number} records", records),))
