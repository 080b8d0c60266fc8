"""Every page that links lead to, of 5 rigs, 750 items and 4,000 records, beside two
rigs with a little of everything: queries, time, weight and first paint.

    .venv/bin/python -m tests.bench.pages
    .venv/bin/python -m tests.bench.pages item trip     these alone, by their names

Aims: 15 queries, 100 ms of server time, 30 kB of HTML and style sheets as brotli sends
them, first paint within 500 ms in Chromium on loopback. Of some pages of each name the
one that asks most is told. Milliseconds are the least of some rounds; the slowest
come first. `x` are times of the lightest page, which say what a busy machine cannot:
how pages compare.
"""

import contextlib
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import NamedTuple
from urllib.parse import urlsplit

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

import brotli
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import Resolver404, resolve
from playwright.sync_api import sync_playwright

from maintenance.households.models import Member
from maintenance.vehicles.models import Trip
from rigsite.paths import CHECKOUT
from tests.bench.due_page import fill
from tests.browser.conftest import FLAGS
from tests.fuzz.home import furnish
from tests.servers import PATIENCE, free_port, wait_for

ROUNDS = 3
EXAMPLES = 4  # pages of a name that are looked at
QUERIES, MILLISECONDS, KILOBYTES, PAINT = 15, 100, 30, 500
FIRST_PAINT = """() => new Promise(found =>
  new PerformanceObserver(list => {
    const [paint] = list.getEntriesByName("first-contentful-paint");
    if (paint) found(paint.startTime);
  }).observe({type: "paint", buffered: true}))"""


class Measured(NamedTuple):
    name: str
    path: str
    queries: int
    ms: float
    kb: float
    paint: float = 0.0

    @property
    def is_over(self) -> bool:
        slow = self.ms > MILLISECONDS or self.paint > PAINT
        return slow or self.queries > QUERIES or self.kb > KILOBYTES


def household() -> Member:
    keeper = fill(5, 750, 4000)
    furnish(keeper, "Small")
    Member.objects.filter(pk=keeper.pk).update(founder=True)
    today = keeper.household.today()
    for rig in keeper.household.rigs.order_by("pk")[:1]:
        start = today + timedelta(days=5)
        Trip.objects.create(rig=rig, start=start, end=start + timedelta(days=9))
    return keeper


def addresses(client: Client) -> dict[str, list[str]]:
    """Some pages of each name that is met, nearest first."""
    found: dict[str, list[str]] = defaultdict(list)
    waiting, seen = ["/"], set()
    while waiting:
        path = waiting.pop(0)
        name = _name(path)
        if name is None or path in seen or len(found[name]) >= EXAMPLES:
            continue
        seen.add(path)
        page = client.get(path)
        if page.status_code != 200 or "html" not in page["Content-Type"]:
            continue
        found[name].append(path)
        waiting += re.findall(r'<a [^>]*?href="(/[^"#]*)"', page.content.decode())
    return {name: paths for name, paths in found.items() if paths}


def _name(path: str) -> str | None:
    try:
        return resolve(urlsplit(path).path).url_name
    except Resolver404:
        return None


def measure(client: Client, name: str, paths: Iterable[str]) -> Measured:
    queries, path = max((_queries(client, path), path) for path in paths)
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        page = client.get(path)
        times.append((time.perf_counter() - began) * 1000)
    html = page.content
    sheets = re.findall(r'<link[^>]*href="([^"]+\.css)"', html.decode())
    weight = _sent(html) + sum(_sent(_sheet(client, each)) for each in set(sheets))
    return Measured(name, path, queries, min(times), weight / 1000)


def _queries(client: Client, path: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        client.get(path)
    return len(queries)


def _sheet(client: Client, path: str) -> bytes:
    return b"".join(client.get(path).streaming_content)


def _sent(body: bytes) -> int:
    return len(brotli.compress(body, quality=5))


@contextlib.contextmanager
def served() -> Iterator[str]:
    """The web server on the data of this process."""
    port = free_port()
    command = [sys.executable, "-m", "rigsite.web", "--bind", f"127.0.0.1:{port}"]
    mine = os.environ | {"RIGSITE_DATA": str(settings.DATA)}
    server = subprocess.Popen(command, cwd=CHECKOUT, env=mine)
    try:
        wait_for(lambda: _answers(port), what="an answer of the web server")
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(PATIENCE)


def _answers(port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port)):
        return True
    return False


def painted(client: Client, rows: Iterable[Measured]) -> Iterator[Measured]:
    """With the first paint of each, as a browser tells it."""
    chromium = shutil.which("chromium")
    with served() as address, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        context = browser.new_context()
        context.add_cookies(
            [
                {"name": name, "value": one.value, "url": address}
                for name, one in client.cookies.items()
            ]
        )
        page = context.new_page()
        for row in rows:
            paints = []
            for _ in range(ROUNDS):
                answer = page.goto(address + row.path)
                assert answer is not None
                assert (answer.status, page.url) == (200, address + row.path)
                paints.append(page.evaluate(FIRST_PAINT))
            yield row._replace(paint=min(paints))
        browser.close()


def main(*names: str) -> None:
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    client = Client()
    client.force_login(
        household().user, backend="django.contrib.auth.backends.ModelBackend"
    )
    asked = addresses(client)
    rows = [measure(client, x, asked[x]) for x in asked if not names or x in names]
    rows = sorted(painted(client, rows), key=lambda row: -row.ms)
    least = min(row.ms for row in rows)
    print(f"{'page':22}{'queries':>8}{'ms':>7}{'x':>7}{'kB':>7}{'paint':>7}")
    for row in rows:
        over = f"  over: {row.path}" if row.is_over else ""
        print(
            f"{row.name:22}{row.queries:8}{row.ms:7.0f}{row.ms / least:7.1f}"
            f"{row.kb:7.1f}{row.paint:7.0f}{over}"
        )
    print(
        f"{len(rows)} pages; most: {max(row.queries for row in rows)} queries (aim"
        f" {QUERIES}), {max(row.ms for row in rows):.0f} ms (aim {MILLISECONDS}),"
        f" {max(row.kb for row in rows):.1f} kB (aim {KILOBYTES}), first paint after"
        f" {max(row.paint for row in rows):.0f} ms (aim {PAINT})"
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
