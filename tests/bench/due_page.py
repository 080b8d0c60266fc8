"""Due of 5 rigs, 750 items and 4,000 records: queries, and how the time grows.

    .venv/bin/python -m tests.bench.due_page

Aims: 8 queries, 60 ms of server time. Prints milliseconds of the whole page as the
test client gets it, the share of templates, and the growth from a fifth of the rows.
"""

import os
import tempfile
import time
from datetime import timedelta
from statistics import median
from uuid import uuid4

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from maintenance.plans.models import Completion, PlanItem
from maintenance.plans.standings import renew_household
from maintenance.service_records.models import RecordLine, ServiceRecord
from tests import builders

ROUNDS = 15


def fill(rigs: int, items: int, records: int):
    """A household whose items stand all over: a fifth overdue, due, coming, later."""
    keeper = builders.make_member()
    today = keeper.household.today()
    for _ in range(rigs):
        rig = builders.make_rig(keeper.household)
        builders.make_reading(rig, today - timedelta(days=300), 30000)
        builders.make_reading(rig, today, 38000)
        _fill_rig(rig, today, items // rigs, records // rigs)
    renew_household(keeper.household, as_of=today)
    return keeper


def _fill_rig(rig, today, items: int, records: int) -> None:
    plan = PlanItem.objects.bulk_create(
        PlanItem(
            rig=rig,
            key=f"item{n}",
            title=f"Item number {n} of the plan",
            system="chassis-engine",
            triggers=[
                {"every": {"distance": 5000, "unit": "mi", "meter": "odometer"}},
                {"every": {"months": 12}},
            ],
            taken_on=rig.in_service_on,
        )
        for n in range(items)
    )
    made = ServiceRecord.objects.bulk_create(
        ServiceRecord(
            rig=rig,
            form_token=uuid4(),
            on=today - timedelta(days=n * 400 // records),
            doer="us",
            currency="USD",
        )
        for n in range(records)
    )
    lines = [
        RecordLine(record=record, item=plan[n % items], title="Work")
        for n, record in enumerate(made)
    ]
    RecordLine.objects.bulk_create(lines)
    Completion.objects.bulk_create(
        Completion(
            item=line.item,
            on=line.record.on - timedelta(days=line.item_id % 5 * 80),
            outcome="done",
        )
        for line in lines
    )


def measure(keeper) -> tuple[float, int, int]:
    client = Client()
    client.force_login(keeper.user, backend="django.contrib.auth.backends.ModelBackend")
    client.get("/")
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        page = client.get("/")
        times.append((time.perf_counter() - start) * 1000)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        client.get("/")
    return median(times), len(queries), page.content.count(b'<li class="row"')


def main() -> None:
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    small = measure(fill(1, 150, 800))
    large = measure(fill(5, 750, 4000))
    for name, (ms, queries, rows) in (("1 rig", small), ("5 rigs", large)):
        print(f"{name}: {ms:.0f} ms, {queries} queries, {rows} rows on the page")
    growth, per_row = large[0] / small[0], large[2] / small[2]
    print(
        f"five times the household: {growth:.1f} x the time, {per_row:.1f} x the rows"
    )
    print(f"aim 60 ms: {large[0] / 60:.1f} x; aim 8 queries: {large[1]}")


if __name__ == "__main__":
    main()
