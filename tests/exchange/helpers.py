"""Making files and bringing them in as a user would, without a worker."""

import io
from typing import Any

import openpyxl

from maintenance.exchange import services
from maintenance.exchange.imports.files import source_of_text
from maintenance.exchange.imports.layout import job_words
from maintenance.exchange.imports.verdicts import layout_of
from maintenance.exchange.matching import propose_items
from maintenance.exchange.models import ImportJob
from maintenance.exchange.running import bring_in
from tests.builders import TODAY

LOG = """Date,Work done,Mileage (mi),Shop,Invoice no,Total,Notes
2024-05-20,Engine oil,30000,Bergen Garage,A-17,120.50,Filter too
2024-05-20,Cabin filter,30000,Bergen Garage,A-17,30,
2024-11-02,Wash,31000,,,,
"""
COLUMNS = {
    0: "on", 1: "what", 2: "odometer", 3: "doer", 4: "invoice", 5: "total", 6: "notes"
}  # fmt: skip


def looked_at(rig: Any, by: Any, text: str = LOG, columns: Any = None, **answers: Any):
    """A file whose columns are chosen and whose questions are answered."""
    made = services.begin(rig, by=by, source=source_of_text("log.csv", text))
    services.choose_columns(made, by=by, columns=columns or COLUMNS)
    jobs = propose_items(job_words(layout_of(made)), rig.plan_items.all(), {})
    answers.setdefault("distance_unit", "mi")
    services.answer(made, by=by, jobs=jobs, **answers)
    return made


def brought(
    rig: Any, by: Any, text: str = LOG, *, wheels: str = "", **answers: Any
) -> ImportJob:
    """A file whose rows were brought in, the doubtful ones too."""
    made = looked_at(rig, by, text, **answers)
    services.start(made, by=by, today=TODAY, with_doubtful=True, wheels=wheels)
    bring_in(fresh(made), today=TODAY)
    return fresh(made)


def fresh(bringing: ImportJob) -> ImportJob:
    rows = ImportJob.objects.select_related("rig__household", "begun_by")
    return rows.get(pk=bringing.pk)


def workbook(*rows: Any, merged: str = "", sheets: int = 1) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(row)
    if merged:
        sheet.merge_cells(merged)
    for _n in range(sheets - 1):
        book.create_sheet().append(["Other"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
