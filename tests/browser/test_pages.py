"""The demo's pages as people meet them: axe without findings by day and night on a
laptop and on a phone, no page wider than its window, no target too small for a thumb,
and nothing asked for elsewhere."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import DUE, LAPTOP, PHONE, log_in
from tests.browser.looking import Seen, look_at, on_host
from tests.browser.nu import errors_in
from tests.start.program import Program

# One worker runs them all: the demo is loaded once for this file.
pytestmark = pytest.mark.whole_program

PAGES = (
    "/",
    "/rigs/",
    "/rigs/add/",
    "/rigs/1/",
    "/rigs/4/",
    "/rigs/1/change/",
    "/rigs/1/sold/",
    "/rigs/1/plan/",
    "/rigs/1/plan/propose/",
    "/rigs/1/plan/before/",
    "/rigs/1/plan/own/",
    "/rigs/1/equipment/",
    "/rigs/1/parts/",
    "/rigs/1/parts/add/tire/",
    "/parts/1/",
    "/rigs/1/tires/",
    "/rigs/1/tires/rotate/",
    "/rigs/1/axles/",
    "/rigs/1/weights/",
    "/rigs/1/weights/label/",
    "/rigs/1/weights/ticket/",
    "/rigs/1/use/",
    "/rigs/1/events/",
    "/rigs/1/event/",
    "/rigs/1/reading/",
    "/rigs/1/meters/add/",
    "/rigs/1/manuals/",
    "/rigs/1/manuals/add/",
    "/rigs/1/where/",
    "/rigs/1/where/water_pump/",
    "/items/1/",
    "/items/1/put-off/",
    "/items/1/rules/",
    "/items/1/drop/",
    "/items/1/done-before/",
    "/record/work/",
    "/rigs/1/record/",
    "/rigs/1/record/?item=1",
    "/rigs/1/findings/add/",
    "/rigs/1/shop-list/",
    "/rigs/1/shop-sheet/",
    "/findings/",
    "/findings/9/",
    "/findings/10/judge/",
    "/log/",
    "/snaps/",
    "/records/1/",
    "/records/1/saved/",
    "/records/1/amend/",
    "/records/1/void/",
    "/history/tamper-check/",
    "/rigs/1/chain/",
    "/storage/",
    "/rigs/1/trip/",
    "/trips/",
    "/trips/1/",
    "/trips/40/",
    "/trips/40/told/",
    "/together/",
    "/walkrounds/",
    "/walkrounds/1/",
    "/walkrounds/2/",
    "/walkrounds/2/finish/",
    "/stays/1/",
    "/stays/12/",
    "/stays/12/visit/",
    "/stays/12/end/",
    "/rigs/1/runways/",
    "/rigs/2/stay/",
    "/costs/",
    "/costs/?rig=1",
    "/trouble/",
    "/trouble/house_battery_flat/?rig=1&path=sound,yes",
    "/trouble/low_water_flow/?rig=1&path=none,pump,yes,rattles",
    "/trouble/gas_flame/sheet/?rig=1&path=smell",
    "/bench/",
    "/bench/bleach_dose/?tank=50&strength=6&target=50&left=5",
    "/bench/battery_standing/",
    "/bench/tire_load/",
    "/library/",
    "/library/engine_oil/",
    "/supplies/",
    "/supplies/add/",
    "/supplies/asked-for/",
    "/search/?q=smell",
    "/packets/",
    "/packets/rigs/3/",
    "/log/bring-in/",
    "/household/take-out/",
    "/mail/",
    "/mail/calendar/",
    "/household/",
    "/household/change/",
    "/household/seasons/",
    "/household/climate/",
    "/household/myself/",
    "/household/myself/password/",
    "/household/myself/logins/",
    "/household/members/add/",
    "/household/members/2/role/",
)
# To somebody who is not logged in, or has no right to it.
OUTSIDE = {
    "/login/": 200,
    "/nowhere/": 404,
    "/answer/done/not-a-token/": 404,
    "/mail/stop/not-a-token/": 404,
    "/join/not-a-token/": 404,
    "/follows/not-a-token/": 404,
}
# To a viewer, who records nothing.
VIEWER = {"/": 200, "/rigs/1/": 200, "/items/1/": 200, "/rigs/1/record/": 403}


@pytest.fixture(scope="module")
def login(demo_program: Program) -> tuple[str, str]:
    """The keeper's name and password, as the start prints them."""
    demo_program.says("")
    names = re.search(r"Log in as one of: ([\w-]+)", demo_program.text)
    password = re.search(r"Password of each: (\S+)", demo_program.text)
    assert names, demo_program.text
    assert password, demo_program.text
    return names[1], password[1]


def logged_in(page: Page, program: Program, login: tuple[str, str]) -> Page:
    log_in(page, f"http://127.0.0.1:{program.port}/login/", DUE, *login)
    return page


@dataclass
class Round:
    """All pages, each loaded once; what the browser asked for and said meanwhile."""

    host: str
    seen: list[Seen] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def faults(self, kind: str) -> dict[str, list[str]]:
        return {one.path: found for one in self.seen if (found := getattr(one, kind))}


@pytest.fixture(scope="module")
def round_(browser: Browser, demo_program: Program, login: tuple[str, str]) -> Round:
    walked = Round(f"http://127.0.0.1:{demo_program.port}/")
    viewer = ("demo-viewer", login[1])
    for name, paths in (
        (None, OUTSIDE),
        (viewer, VIEWER),
        (login, dict.fromkeys(PAGES, 200)),
    ):
        context = browser.new_context(viewport=LAPTOP)  # type: ignore[arg-type]
        page = context.new_page()
        page.goto(f"{walked.host}login/")
        if name:
            logged_in(page, demo_program, name)
        page.on("request", lambda one: walked.asked.append(one.url))
        page.on("console", lambda one: walked.said.append(one.text))
        walked.seen += [look_at(page, path, status) for path, status in paths.items()]
        context.close()
    return walked


def test_axe_finds_nothing_by_day_and_night_on_laptop_and_phone(round_: Round) -> None:
    """WCAG 2.2 AA."""
    assert round_.faults("breaches") == {}


def test_no_page_is_wider_than_its_window(round_: Round) -> None:
    """At 320, 360, 768, 1024 and 1440 px, every fold open."""
    assert round_.faults("wide") == {}


def test_every_target_fits_a_thumb(round_: Round) -> None:
    """44 px on a phone, every fold open; links in running text left out."""
    assert round_.faults("small") == {}


def test_pages_ask_for_nothing_elsewhere_and_nothing_is_kept_back(
    round_: Round,
) -> None:
    assert [
        url for url in round_.asked if not url.startswith((round_.host, "data:"))
    ] == []
    # The browser says there what the content policy kept from a page.
    assert [text for text in round_.said if "Content Security Policy" in text] == []


def test_pages_of_a_rig_and_of_a_stay_are_no_scroll_without_end(round_: Round) -> None:
    most = {"/rigs/": 3500, "/stays/": 4000}
    heights = {one.path: one.tall for one in round_.seen}
    ones = re.compile(r"/(rigs|stays)/\d+/$")

    assert {
        path: tall
        for path, tall in heights.items()
        if (found := ones.match(path)) and tall > most[f"/{found[1]}/"]
    } == {}


def test_pages_are_as_the_standard_of_html_asks(round_: Round, tmp_path: Path) -> None:
    for number, one in enumerate(round_.seen):
        if one.path.startswith("/packets/rigs/"):
            continue  # its style is that of the paper, which the standard knows not
        name = f"{number:03}{one.path.partition('?')[0].replace('/', '_')}.html"
        (tmp_path / name).write_text(one.html)

    assert errors_in(tmp_path) == ""


@pytest.fixture
def phone(
    browser: Browser, demo_program: Program, login: tuple[str, str]
) -> Iterator[Page]:
    context = browser.new_context(
        viewport=PHONE,  # type: ignore[arg-type]
        has_touch=True,
        color_scheme="light",
    )
    yield logged_in(context.new_page(), demo_program, login)
    context.close()


def test_header_and_bar_of_a_phone_leave_room(phone: Page) -> None:
    boxes = [
        phone.get_by_role("banner").bounding_box(),
        phone.get_by_role("navigation", name="Places").bounding_box(),
    ]
    assert sum(box["height"] for box in boxes if box) <= 126
    assert all(boxes)


def test_work_pages_have_one_bar_of_their_own(phone: Page) -> None:
    for path in ("/items/1/", "/rigs/1/record/", "/walkrounds/2/"):
        phone.goto(on_host(phone, path))
        top = phone.get_by_role("banner").bounding_box()
        bar = phone.get_by_role("region", name="What to do here").bounding_box()
        assert top, path
        assert bar, path
        assert (top["height"], bar["height"]) == (54, 80), path
        expect(phone.get_by_role("navigation", name="Places")).to_have_count(0)


def test_targets_of_the_frame_fit_a_finger(phone: Page) -> None:
    phone.get_by_role("button", name="Record").tap()
    for target in phone.locator(
        ":is(.top, .bar, #record-sheet) :is(a, button):visible"
    ).all():
        box = target.bounding_box()
        assert box
        assert min(box["width"], box["height"]) >= 44, target.inner_text()


def test_a_new_reading_is_two_taps_away(phone: Page) -> None:
    phone.goto(on_host(phone, "/trouble/"))

    phone.get_by_role("button", name="Record").tap()
    phone.get_by_role("link", name="New reading").tap()

    expect(phone.get_by_label("Odometer").first).to_be_editable()


def test_record_opens_and_closes_without_script(
    browser: Browser, demo_program: Program, login: tuple[str, str]
) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)  # type: ignore[arg-type]
    page = logged_in(context.new_page(), demo_program, login)
    way = page.get_by_role("link", name="Log a visit or a job")
    expect(way).to_be_hidden()

    page.get_by_role("button", name="Record").click()
    expect(way).to_be_visible()
    page.get_by_role("button", name="Close").click()
    expect(way).to_be_hidden()
    context.close()


def test_night_stays_chosen(phone: Page) -> None:
    phone.goto(on_host(phone, "/rigs/"))
    phone.get_by_role("button", name="Two Gate Lane").tap()
    phone.get_by_role("button", name="Night").tap()

    expect(phone.locator("html")).to_have_attribute("data-theme", "night")
    expect(phone).to_have_url(re.compile(r"/rigs/$"))
    phone.goto(on_host(phone, "/log/"))
    expect(phone.locator("html")).to_have_css("background-color", "rgb(18, 21, 15)")
