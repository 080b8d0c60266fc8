"""A service history of 50, 200 and 1,000 records: seconds, beside headless Chromium.

    .venv/bin/python -m tests.bench.packet

Aim: 200 records in the time that Chromium takes to print the same HTML, started as we
start ours: a fresh process, HTML in, PDF out. (Chromium's PDF lacks page numbers in
the contents and running heads.) A photo on every fourth record. The two are run by
turns, so that what else the machine does burdens both; ours runs at a low priority.
"""

import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from statistics import median

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

from django.core.management import call_command
from django.utils import timezone

from maintenance.packets.history.build import build_history
from maintenance.packets.page import history_page
from maintenance.packets.printing import print_pdf
from maintenance.packets.proof import loader
from maintenance.packets.queries import material_of
from maintenance.plans.standings import renew_household
from tests.builders import TODAY, make_item
from tests.packets.builders import add_past, make_busy_rig

SIZES = (50, 200, 1000)
ROUNDS = {50: 5, 200: 5, 1000: 2}
CHROMIUM = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--no-pdf-header-footer",
)


def timed(work) -> tuple[float, object]:
    begun = time.perf_counter()
    result = work()
    return time.perf_counter() - begun, result


def page_of(records: int) -> tuple[float, str]:
    """Seconds to read, set into words and put into HTML; and the HTML."""
    rig, _ann = make_busy_rig(records, photos=4, name=f"Marlow {records}")
    add_past(rig)
    for n in range(40):
        make_item(rig, f"item_{n}", title=f"Piece of upkeep number {n}")
    renew_household(rig.household, as_of=TODAY)

    def make() -> str:
        history = build_history(
            material_of(rig, TODAY),
            made_by="Ann",
            made_at=timezone.now(),
            proof=loader(lambda: None),
        )
        return history_page(history)

    return timed(make)  # type: ignore[return-value]


def ours(html: str, folder: Path) -> float:
    seconds, pages = timed(
        lambda: print_pdf(
            html, folder / "ours.pdf", seconds=600, tell=lambda _progress: True
        )
    )
    assert pages
    return seconds


def chromium(browser: str, html: str, folder: Path) -> float:
    page = folder / "page.html"
    page.write_text(html)
    with tempfile.TemporaryDirectory() as profile:
        command = [
            browser,
            *CHROMIUM,
            f"--user-data-dir={profile}",
            f"--print-to-pdf={folder / 'chromium.pdf'}",
            page.as_uri(),
        ]
        seconds, _done = timed(
            lambda: subprocess.run(command, check=True, capture_output=True)
        )
    assert (folder / "chromium.pdf").stat().st_size
    return seconds


def main() -> None:
    call_command("migrate", verbosity=0)
    browser = shutil.which("chromium")
    folder = Path(tempfile.mkdtemp(prefix="packet-"))
    print("records   words   print   chromium   print / chromium   growth")
    before: tuple[int, float] | None = None
    for size in SIZES:
        words, html = page_of(size)
        rounds = [
            (ours(html, folder), chromium(browser, html, folder) if browser else 0.0)
            for _ in range(ROUNDS[size])
        ]
        print_time = median(first for first, _second in rounds)
        other = median(second for _first, second in rounds)
        ratio = f"{print_time / other:.2f}" if other else "no chromium"
        growth = ""
        if before:
            growth = f"{print_time / before[1]:.1f} for {size / before[0]:.0f} x"
        print(
            f"{size:7}  {words:5.2f}s  {print_time:5.2f}s  {other:8.2f}s"
            f"   {ratio:>16}   {growth}",
            flush=True,
        )
        before = (size, print_time)


if __name__ == "__main__":
    main()
