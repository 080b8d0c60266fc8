"""The main job in a browser: from the first start to the printed history.

A rig is set up, a wheel service is logged, the lug re-check that it raises is told,
done and recorded, and the history is printed; by the real program with its worker.
"""

import re
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Page, expect

from tests.servers import wait_for
from tests.start.program import Program

PASSWORD = "quiet-paper-lantern"


def go(page: Page, name: str) -> None:
    """By the header's link of that name."""
    header = page.get_by_role("navigation", name="Pages")
    header.get_by_role("link", name=name, exact=True).click()


def open_reminders(page: Page) -> None:
    """Behind the household's name."""
    page.get_by_role("button", name="Alder Lane").click()
    page.get_by_role("link", name="Reminders").click()


def open_prints(page: Page) -> None:
    go(page, "History")
    tabs = page.get_by_role("navigation", name="Parts of this place")
    tabs.get_by_role("link", name="Print").click()


def found_household(page: Page, address: str) -> None:
    page.goto(address)
    page.get_by_label("Name*", exact=True).fill("Ada")
    page.get_by_label("Login name").fill("ada")
    page.get_by_label("Email address").fill("ada@example.org")
    page.get_by_label("Password*", exact=True).fill(PASSWORD)
    page.get_by_label("Password again").fill(PASSWORD)
    page.get_by_label("Household name").fill("Alder Lane")
    page.get_by_label("Time zone").select_option("Etc/UTC")
    page.get_by_role("button", name="Create account").click()


def add_rig(page: Page) -> None:
    page.get_by_label("Name").fill("Juniper")
    page.get_by_label("Kind").select_option("Motorhome")
    page.get_by_label("Wheels").select_option(label="Four wheels")
    page.get_by_label("In service since").fill("2019-06-01")
    page.get_by_label("Odometer today").fill("42,300")
    page.get_by_role("button", name="Next").click()
    page.get_by_role("button", name="Next").click()
    page.get_by_role("button", name="Save plan").click()


def log_wheel_service(page: Page) -> None:
    go(page, "Rigs")
    page.get_by_role("link", name="Juniper").click()
    page.get_by_role("link", name="Record work", exact=True).click()
    page.get_by_label("Something else: type a word or two").fill("Two front tires")
    page.get_by_label("Odometer showed").fill("42310")
    page.get_by_text("Wheels off and torque").click()
    for wheel in ("left front", "right front"):
        page.get_by_label(f"{wheel} was off").check()
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("Wheels off", exact=True)).to_be_visible()
    expect(page.get_by_text("LF, RF", exact=True).first).to_be_visible()


def find_mail(page: Page, subject: str) -> None:
    """The worker writes it in the moments after the wheel service was logged."""
    open_reminders(page)

    def is_there() -> bool:
        page.reload()
        return page.get_by_text(subject).count() > 0

    wait_for(is_there, what=f"the mail {subject!r}")


def give_reading(page: Page, value: str) -> None:
    go(page, "Due")
    readings = page.get_by_role("navigation", name="New reading")
    readings.get_by_role("link", name="Juniper").click()
    page.get_by_label("It shows").fill(value)
    page.get_by_role("button", name="Save").click()


def record_recheck(page: Page) -> None:
    go(page, "Due")
    row = page.locator("li.row", has_text="torque after").first
    expect(row.get_by_text("Safety")).to_be_visible()
    row.get_by_role("link", name=re.compile("Record it")).click()
    page.get_by_label("Odometer showed").fill("42370")
    page.get_by_label("Specified torque").fill("110")
    page.get_by_label("Source").select_option("invoice")
    for wheel in ("left front", "right front"):
        page.get_by_label(f"{wheel} reached").fill("110")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("Checked, held").first).to_be_visible()


def print_history(page: Page, folder: Path) -> Path:
    open_prints(page)
    page.get_by_role("button", name=re.compile("Juniper|history")).first.click()
    link = page.get_by_role("link", name=re.compile("Download|PDF"))
    expect(link).to_be_visible()
    with page.expect_download() as download:
        link.click()
    printed = folder / "history.pdf"
    download.value.save_as(printed)
    return printed


@pytest.mark.whole_program
def test_story_from_first_run_to_printed_packet(
    empty_program: Program, laptop: Page, tmp_path: Path
) -> None:
    found_household(laptop, f"http://127.0.0.1:{empty_program.port}/")
    add_rig(laptop)
    log_wheel_service(laptop)
    find_mail(laptop, "1 wheel check ahead on Juniper")
    give_reading(laptop, "42,365")
    record_recheck(laptop)

    pages = pypdf.PdfReader(print_history(laptop, tmp_path)).pages
    text = "\n".join(page.extract_text() for page in pages)

    assert "Two front tires" in text
    assert "110" in text
