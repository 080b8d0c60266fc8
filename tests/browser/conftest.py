"""A browser, and the whole program running as a household starts it."""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests import builders
from tests.servers import PATIENCE
from tests.start.program import Program, running

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
LAPTOP = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}
DUE = re.compile(r"^\w{3}, \w+ \d+")  # its title is the day

expect.set_options(timeout=PATIENCE * 1000)


def log_in(
    page: Page,
    address: str,
    heading: str | re.Pattern[str],
    name: str = "mara",
    password: str = builders.PASSWORD,
) -> None:
    """By the login page at `address`, on to the page of this heading."""
    page.goto(address)
    page.get_by_label("Login name").fill(name)
    page.get_by_label("Password").fill(password)
    page.keyboard.press("Enter")
    arrive(page, heading)


def arrive(page: Page, heading: str | re.Pattern[str]) -> None:
    """On the page of this heading, with its scripts at work: what is typed or tapped
    before that, they do not hear of."""
    expect(page.get_by_role("heading", level=1)).to_contain_text(heading)
    page.wait_for_load_state("load")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    found = shutil.which("chromium")
    assert found, "Chromium is not installed: apt-get install chromium"
    with sync_playwright() as driver:
        started = driver.chromium.launch(
            executable_path=found, args=FLAGS, timeout=PATIENCE * 1000
        )
        yield started
        started.close()


@pytest.fixture(scope="module")
def empty_program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """Started on a machine that has never seen it."""
    folder: Path = tmp_path_factory.mktemp("rig")
    with running(folder) as program:
        yield program


@pytest.fixture(scope="module")
def demo_program(
    migrated: Callable[[Path], Path], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Program]:
    """Started with the demo household."""
    folder = migrated(tmp_path_factory.mktemp("rig"))
    with running(folder, "--demo") as program:
        yield program


@pytest.fixture
def laptop(browser: Browser) -> Iterator[Page]:
    context: BrowserContext = browser.new_context(viewport=LAPTOP)  # type: ignore[arg-type]
    yield context.new_page()
    context.close()
