"""The log of a rig with 50 and with 5,000 records: queries, and how the time grows.

    .venv/bin/python -m tests.bench.log_page

Aims: at most 12 queries, and 5,000 records within 1.5 x the time of 50.
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

from maintenance.service_records.models import PartUsed, RecordLine, ServiceRecord
from tests import builders

ROUNDS = 25
FEW, MANY = 50, 5000


def fill(records: int):
    """A keeper whose rig has so many records, each of two jobs and a part."""
    keeper = builders.make_member()
    rig = builders.make_rig(keeper.household)
    item = builders.make_item(rig)
    today = keeper.household.today()
    made = ServiceRecord.objects.bulk_create(
        ServiceRecord(
            rig=rig,
            form_token=uuid4(),
            on=today - timedelta(days=n % 2500),
            doer="Bay Street Garage",
            currency="USD",
            total=100 + n,
        )
        for n in range(records)
    )
    RecordLine.objects.bulk_create(
        RecordLine(record=row, item=item if n else None, title=f"Job {n} of {row.pk}")
        for row in made
        for n in range(2)
    )
    PartUsed.objects.bulk_create(
        PartUsed(record=row, name="Filter", number=f"F-{row.pk}") for row in made
    )
    client = Client()
    client.force_login(keeper.user, backend="django.contrib.auth.backends.ModelBackend")
    return client, rig.pk


def measure(client: Client, url: str) -> tuple[float, int]:
    """Median milliseconds of the whole page as the test client gets it, and queries."""
    client.get(url)
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        client.get(url)
        times.append((time.perf_counter() - start) * 1000)
    with CaptureQueriesContext(connection) as queries:
        client.get(url)
    return median(times), len(queries)


def main() -> None:
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    few, few_rig = fill(FEW)
    many, many_rig = fill(MANY)
    for name, query in (
        ("one rig", "?rig={}"),
        ("by system", "?rig={}&system=chassis-engine"),
        ("by words", "?rig={}&text=job"),
    ):
        small, _few = measure(few, "/log/" + query.format(few_rig))
        large, queries = measure(many, "/log/" + query.format(many_rig))
        print(
            f"{name}: {small:.0f} ms of {FEW}, {large:.0f} ms of {MANY}: "
            f"{large / small:.2f} x; {queries} queries"
        )
    print("aims: 1.5 x for one rig, 12 queries")


if __name__ == "__main__":
    main()
