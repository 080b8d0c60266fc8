"""Every page that links lead to, of 5 rigs, 750 items and 4,000 records: queries, time
and weight, one page for each name of an address.

    .venv/bin/python -m tests.bench.pages

Aims: 15 queries, 100 ms of server time, 30 kB of HTML and style sheets as brotli sends
them. Milliseconds are the least of some rounds; the heaviest come first. `x` are times
of the lightest page, which say what a busy machine cannot: how pages compare.
"""

import os
import re
import tempfile
import time
from collections.abc import Iterator
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

from tests.bench.due_page import fill

ROUNDS = 5
QUERIES, MILLISECONDS, KILOBYTES = 15, 100, 30


class Measured(NamedTuple):
    name: str
    queries: int
    ms: float
    kb: float


def addresses(client: Client) -> Iterator[tuple[str, str]]:
    """(name, path) of one page for each name that is met, nearest first."""
    seen, waiting = set(), ["/"]
    while waiting:
        path = waiting.pop(0)
        name = _name(path)
        if name is None or name in seen:
            continue
        seen.add(name)
        page = client.get(path)
        if page.status_code != 200 or "html" not in page["Content-Type"]:
            continue
        yield name, path
        waiting += re.findall(r'<a [^>]*?href="(/[^"#]*)"', page.content.decode())


def _name(path: str) -> str | None:
    try:
        return resolve(urlsplit(path).path).url_name
    except Resolver404:
        return None


def measure(client: Client, name: str, path: str) -> Measured:
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        page = client.get(path)
        times.append((time.perf_counter() - began) * 1000)
    with CaptureQueriesContext(connection) as queries:
        client.get(path)
    count = len(queries)  # the next request forgets them
    html = page.content
    sheets = re.findall(r'<link[^>]*href="([^"]+\.css)"', html.decode())
    weight = _sent(html) + sum(_sent(_sheet(client, each)) for each in set(sheets))
    return Measured(name, count, min(times), weight / 1000)


def _sheet(client: Client, path: str) -> bytes:
    return b"".join(client.get(path).streaming_content)


def _sent(body: bytes) -> int:
    return len(brotli.compress(body, quality=5))


def main() -> None:
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    client = Client()
    client.force_login(
        fill(5, 750, 4000).user, backend="django.contrib.auth.backends.ModelBackend"
    )
    rows = [measure(client, *each) for each in addresses(client)]
    least = min(row.ms for row in rows)
    print(f"{'page':28}{'queries':>8}{'ms':>8}{'x':>7}{'kB':>7}")
    for row in sorted(rows, key=lambda row: -row.ms):
        over = row.queries > QUERIES or row.ms > MILLISECONDS or row.kb > KILOBYTES
        print(
            f"{row.name:28}{row.queries:8}{row.ms:8.0f}{row.ms / least:7.1f}"
            f"{row.kb:7.1f}{'  over' if over else ''}"
        )
    print(
        f"{len(rows)} pages; most: {max(row.queries for row in rows)} queries (aim"
        f" {QUERIES}), {max(row.ms for row in rows):.0f} ms (aim {MILLISECONDS}),"
        f" {max(row.kb for row in rows):.1f} kB (aim {KILOBYTES})"
    )


if __name__ == "__main__":
    main()
