"""`python -m tests.bench.search`: finding words in 20,000 records and all texts.

The yardstick is the page's own frame with nothing to search, in the same run.
"""

import os
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from maintenance.core.search.shelf import Shelf
from maintenance.library.words import load_words
from maintenance.pages.search.common import shelf
from maintenance.pages.search.index import refresh_all
from maintenance.service_records.models import RecordLine, ServiceRecord
from tests import builders

PARTS = ("brakes", "awning", "strainer", "tires", "furnace", "roof", "battery", "hitch")
DOERS = ("Ridge Garage", "Harbor Trailers", "Ourselves", "Mobile Ann")
ASKED = (
    *("brakes", "smell", "yellow flame", "lug", "awn", "ridge furnace", "quorbit"),
    *("the furnace blows cold air", "refridgerator vents", "110 ft-lb", "invoice 2025"),
    "when did ridge garage last look at the brakes and the roof",
)


def best_of(times: int, call: Callable[[], object]) -> float:
    found = []
    for _ in range(times):
        began = time.perf_counter()
        call()
        found.append(time.perf_counter() - began)
    return min(found)


def fill(rig, count: int) -> None:
    records = ServiceRecord.objects.bulk_create(
        ServiceRecord(
            rig=rig,
            on=builders.TODAY - timedelta(days=n % 3000),
            doer=DOERS[n % len(DOERS)],
            notes=f"Job {n}: looked at the {PARTS[(n * 3) % len(PARTS)]}.",
            currency="USD",
        )
        for n in range(count)
    )
    RecordLine.objects.bulk_create(
        RecordLine(record=record, title=f"{PARTS[n % len(PARTS)].title()} {n}")
        for n, record in enumerate(records)
    )


def main() -> None:
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    member = builders.make_member()
    fill(builders.make_rig(member.household), 20_000)
    client = Client()
    client.force_login(member.user)
    url = reverse("search")
    began = time.perf_counter()
    client.get(url, {"q": ASKED[0]})
    print(f"first search, before the worker: {time.perf_counter() - began:.1f} s")
    began = time.perf_counter()
    refresh_all(timezone.now())
    print(f"the other texts, by the worker: {time.perf_counter() - began:.1f} s")
    empty = best_of(7, lambda: client.get(url))
    print(f"the page without a word: {empty * 1000:.0f} ms")
    began = time.perf_counter()
    Shelf(load_words().words, shelf().things)
    print(f"guides, how-tos and places, made once: {time.perf_counter() - began:.1f} s")
    for typed in ASKED:
        took = best_of(7, lambda typed=typed: client.get(url, {"q": typed}))
        print(f"{typed!r}: {took * 1000:.0f} ms, {took / empty:.1f} x")


if __name__ == "__main__":
    main()
