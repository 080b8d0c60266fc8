"""The main job in a browser: from the first start to the printed history.

A rig is set up, a wheel service is logged, the lug re-check that it raises is told,
done and recorded, and the history is printed; by the real program with its worker, by
mouse, by keyboard alone, on a phone and without script.
"""

import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Browser, Locator, expect

from tests.browser.hands import Keyboard, Mouse, Plain, Thumb
from tests.browser.looking import look_at, on_host
from tests.servers import wait_for
from tests.start.program import Program

PASSWORD = "quiet-paper-lantern"
FROM_THE_SHOP = "Invoice from the shop that put the wheel on"
# One worker runs them all: the program is started once for this file.
pytestmark = pytest.mark.whole_program


@pytest.fixture(params=[Mouse, Keyboard, Thumb, Plain])
def hand(
    request: pytest.FixtureRequest, browser: Browser, empty_program: Program
) -> Iterator[Mouse]:
    _open_founding(empty_program)
    context = browser.new_context(**request.param.context)
    yield request.param(context.new_page())
    context.close()


def _open_founding(program: Program) -> None:
    """It is open until there is a household; that of an earlier test becomes a demo."""
    with sqlite3.connect(program.data / "rigsite.db", timeout=60) as database:
        database.execute("UPDATE households_household SET is_demo = 1")
        database.execute("UPDATE households_member SET founder = 0")


def test_story_from_first_run_to_printed_history(
    hand: Mouse, empty_program: Program, tmp_path: Path
) -> None:
    found_household(hand, f"http://127.0.0.1:{empty_program.port}/welcome/")
    add_rig(hand)
    log_wheel_service(hand)
    find_mail(hand, "Coming on Juniper")
    give_reading(hand, "42,365")
    record_recheck(hand)

    pages = pypdf.PdfReader(print_history(hand, tmp_path)).pages
    text = "\n".join(page.extract_text() for page in pages)

    assert "Two front tires" in text
    assert "110" in text


def found_household(hand: Mouse, address: str) -> None:
    hand.page.goto(address)
    login = type(hand).__name__.lower()
    hand.fill("Name*", "Ada")
    hand.fill("Login name", login)
    hand.fill("Email address", f"{login}@example.org")
    hand.fill("Password*", PASSWORD)
    hand.fill("Password again", PASSWORD)
    hand.fill("Household name", "Alder Lane")
    hand.choose("Time zone", "Etc/UTC")
    hand.press(hand.page.get_by_role("button", name="Create account"))


def add_rig(hand: Mouse) -> None:
    page = hand.page
    hand.fill("Name*", "Juniper")
    hand.choose("Kind*", "Motorhome")
    hand.choose("Wheels*", "Four wheels")
    hand.fill("In service since", "2019-06-01")
    hand.fill("Odometer today", "42,300")
    hand.press(page.get_by_role("button", name="Next"))
    expect(page.get_by_role("heading", level=1)).to_contain_text("Juniper")
    hand.press(page.get_by_role("button", name="Next"))
    hand.press(page.get_by_role("button", name="Save plan"))
    expect(page.get_by_role("button", name="Save plan")).to_be_hidden()


def log_wheel_service(hand: Mouse) -> None:
    page = hand.page
    hand.go("Rigs")
    hand.press(page.locator("main").get_by_role("link", name="Juniper"))
    hand.press(page.get_by_role("link", name="Record work", exact=True))
    hand.fill("Something else: type a word or two", "Two front tires")
    hand.fill("Odometer showed", "42310")
    hand.unfold("Wheels off and torque")
    for wheel in ("left front", "right front"):
        hand.tick(f"{wheel} was off")
    hand.press(hand.record_button)
    expect(page.get_by_text("Wheels off", exact=True)).to_be_visible()
    expect(page.get_by_text("LF, RF", exact=True).first).to_be_visible()


def find_mail(hand: Mouse, subject: str) -> None:
    """The worker writes it in the moments after the wheel service was logged."""
    hand.open_menu("Alder Lane", "Reminders")

    def is_there() -> bool:
        hand.page.reload()
        return hand.page.get_by_text(subject).count() > 0

    wait_for(is_there, what=f"the mail {subject!r}")


def give_reading(hand: Mouse, value: str) -> None:
    page = hand.page
    hand.go("Rigs")
    hand.press(page.get_by_role("button", name="Record").locator("visible=true"))
    hand.press(page.locator("#record-sheet").get_by_role("link", name="New reading"))
    hand.fill("Odometer", value)
    hand.press(page.get_by_role("button", name="Save").first)


def record_recheck(hand: Mouse) -> None:
    """From its tag on Due by the page of the job, each wheel's tile tapped."""
    page = hand.page
    hand.go("Due")
    hand.press(page.get_by_role("link", name=re.compile("Show me how.*lug torque")))
    expect(page.get_by_role("heading", level=1)).to_contain_text("lug torque")
    hand.fill(page.locator("[name=figure]"), "110")
    hand.choose(page.locator("[name=origin]"), FROM_THE_SHOP)
    for wheel in ("LF", "RF"):
        hand.tick(page.locator(f"[name=moved_{wheel}][value=held]"))
    hand.press(hand.record_button)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Record work")
    hand.fill("Odometer showed", "42370")
    hand.press(hand.record_button)
    expect(page.get_by_text("Checked, held").first).to_be_visible()


def print_history(hand: Mouse, folder: Path) -> Path:
    page = hand.page
    hand.go("History")
    tabs = page.get_by_role("navigation", name="Pages here")
    hand.press(tabs.get_by_role("link", name="Print"))
    hand.press(page.get_by_role("button", name="Print the history").first)
    link = page.get_by_role("link", name="Download the PDF")
    if isinstance(hand, Plain):
        wait_for(lambda: _look_again(hand, link), what="the printed history")
    expect(link).to_be_visible()
    with page.expect_download() as download:
        hand.press(link)
    printed = folder / "history.pdf"
    download.value.save_as(printed)
    return printed


def _look_again(hand: Mouse, link: Locator) -> bool:
    """Without script a page goes on by its button."""
    again = hand.page.get_by_role("link", name="Check again")
    if again.count():
        hand.press(again)
    return link.count() > 0


def test_pages_before_there_is_anything(
    browser: Browser, empty_program: Program
) -> None:
    """The first page, and those of a household without a rig."""
    _open_founding(empty_program)
    page = browser.new_context().new_page()
    page.goto(f"http://127.0.0.1:{empty_program.port}/login/")
    seen = [look_at(page, "/welcome/"), look_at(page, "/login/")]
    hand = Mouse(page)
    found_household(hand, on_host(page, "/welcome/"))
    empty = ("/", "/rigs/", "/storage/", "/trips/", "/log/", "/costs/", "/packets/")
    seen += [look_at(page, path) for path in empty]
    page.context.close()

    assert {one.path: one.faults for one in seen if one.faults} == {}
