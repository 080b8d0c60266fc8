"""How long 10,000 rows take to come in, and how many queries a row costs.

    .venv/bin/python tests/bench/importing.py

Printed as ratios of a plain loop too, since machines differ: to parse alone, to log
fifty of the rows one by one, all of them in bulk.
"""

import os
import sys
import tempfile
import time
import uuid
from datetime import date, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
os.environ["DJANGO_SETTINGS_MODULE"] = "rigsite.settings"
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rigsite-bench-")
os.environ["LOG_LEVEL"] = "ERROR"

import django

django.setup()

from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.exchange import services
from maintenance.exchange.imports.files import source_of_file
from maintenance.exchange.imports.verdicts import judge
from maintenance.exchange.running import bring_in
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY, make_household, make_item, make_member, make_rig
from tests.exchange.helpers import fresh

ROWS, SINGLE = 10_000, 50
COLUMNS = {0: "on", 1: "what", 2: "odometer", 3: "doer", 4: "total", 5: "notes"}
JOBS = ["Engine oil", "Tire rotation", "Battery water", "Wash", "Roof sealed"]


def row(n: int) -> str:
    on = date(2019, 6, 2) + timedelta(days=n // 4)
    return f"{on},{JOBS[n % 5]} ,{100 + n * 4},Bergen Garage,{n % 300}.50,Row {n}\n"


def main() -> None:
    call_command("migrate", verbosity=0)
    rig = make_rig(make_household())
    items = {job: make_item(rig, job.lower().replace(" ", "_")) for job in JOBS[:3]}
    by = make_member(rig.household)
    data = "Date,Work,Miles,Shop,Total,Notes\n" + "".join(row(n) for n in range(ROWS))

    start = time.perf_counter()
    source = source_of_file("log.csv", data.encode())
    parsed = time.perf_counter() - start
    made = services.begin(rig, by=by, source=source)
    services.choose_columns(made, by=by, columns=COLUMNS)
    jobs = {job: items.get(job) for job in JOBS}
    services.answer(made, by=by, jobs=jobs, distance_unit="mi")
    start = time.perf_counter()
    judge(made, today=TODAY)
    judged = time.perf_counter() - start
    services.start(made, by=by, today=TODAY, with_doubtful=True)
    start = time.perf_counter()
    with CaptureQueriesContext(connection) as queries:
        bring_in(fresh(made), today=TODAY)
    took = time.perf_counter() - start
    done = fresh(made)
    start = time.perf_counter()
    for n in range(SINGLE):
        builders.log_work(
            make_rig(rig.household), by=by, today=TODAY, form_token=uuid.uuid4(),
            on=TODAY, lines=[Line(JOBS[n % 5])], doer="x",
        )  # fmt: skip
    single = (time.perf_counter() - start) / SINGLE

    print(f"{done.added} rows, {done.get_state_display()}")
    print(f"parse {parsed:.2f} s, verdicts {judged:.2f} s, bring in {took:.2f} s")
    print(f"queries per row: {len(queries) / ROWS:.3f}")
    print(f"one by one would take {single * ROWS / took:.1f} times as long")


if __name__ == "__main__":
    main()
