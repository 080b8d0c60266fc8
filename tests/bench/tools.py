"""`python -m tests.bench.tools`: every calculator and every page of the guides, as the
server makes them, on a heavy user's rig. Aim: 50 ms each."""

import os
import tempfile
import time
from collections.abc import Iterator

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from maintenance.calculators.subjects import CALCULATORS
from maintenance.core.trouble import Ending, walk
from maintenance.troubleshooting.reading import load_trees
from tests.bench.due_page import fill

ROUNDS = 5


def places() -> Iterator[tuple[str, dict[str, str]]]:
    """Every question and cause, by the first way that leads to it."""
    trees, seen = load_trees(), set()
    waiting = [(key, ()) for key in trees]
    while waiting:
        key, path = waiting.pop(0)
        here = walk(trees, key, path)
        if (here.tree.key, here.now.key) in seen:
            continue
        seen.add((here.tree.key, here.now.key))
        yield reverse("guide", args=[key]), {"path": ",".join(path)}
        if not isinstance(here.now, Ending):
            waiting += [(key, (*path, answer.key)) for answer in here.answers]


def fastest(client: Client, url: str, query: dict[str, str]) -> float:
    found = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        answer = client.get(url, query)
        found.append(time.perf_counter() - began)
        assert answer.status_code == 200, (url, query)
    return min(found) * 1000


def show(name: str, times: list[float]) -> None:
    ordered = sorted(times)
    print(
        f"{name}: {len(times)} pages, median {ordered[len(times) // 2]:.0f} ms, "
        f"slowest {ordered[-1]:.0f} ms"
    )


def main() -> None:
    settings.ALLOWED_HOSTS.append("testserver")
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    keeper = fill(5, 750, 4000)
    rig = keeper.household.rigs.first()
    client = Client()
    client.force_login(keeper.user)
    show(
        "calculators",
        [fastest(client, reverse("calculator", args=[key]), {}) for key in CALCULATORS],
    )
    for name, more in (("guides", {}), ("guides of a rig", {"rig": str(rig.pk)})):
        show(name, [fastest(client, url, query | more) for url, query in places()])


if __name__ == "__main__":
    main()
