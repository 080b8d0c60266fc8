"""The demo's pages as people meet them: axe without findings in light and dark, no
page wider than a phone, and the main job by keyboard alone."""

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import LAPTOP, PHONE, arrive, log_in
from tests.browser.nu import errors_in
from tests.start.program import Program

# One worker runs them all: the demo is loaded once for this file.
pytestmark = pytest.mark.whole_program

PAGES = (
    "/",
    "/rigs/",
    "/rigs/1/",
    "/rigs/4/",
    "/rigs/1/plan/",
    "/rigs/1/parts/",
    "/rigs/1/tires/",
    "/rigs/1/use/",
    "/rigs/1/events/",
    "/rigs/1/manuals/",
    "/items/1/",
    "/rigs/1/record/",
    "/rigs/1/reading/",
    "/rigs/1/equipment/",
    "/rigs/1/plan/propose/",
    "/log/",
    "/records/1/",
    "/storage/",
    "/trips/",
    "/trips/1/",
    "/rigs/1/weights/",
    "/together/",
    "/walkrounds/",
    "/findings/",
    "/stays/1/",
    "/stays/1/visit/",
    "/rigs/1/runways/",
    "/rigs/1/stay/",
    "/costs/",
    "/costs/?rig=1",
    "/trouble/",
    "/trouble/house_battery_flat/?rig=1&path=sound,yes",
    "/trouble/low_water_flow/?rig=1&path=none,pump,yes,rattles",
    "/trouble/gas_flame/sheet/?rig=1&path=smell",
    "/bench/",
    "/bench/bleach_dose/?tank=50&strength=6&target=50&left=5",
    "/bench/battery_standing/",
    "/search/?q=smell",
    "/packets/",
    "/mail/",
    "/household/",
)
WCAG = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    }
}


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
    log_in(page, f"http://127.0.0.1:{program.port}/login/", "Due", *login)
    return page


@pytest.fixture(params=["light", "dark"])
def themed(
    request: pytest.FixtureRequest,
    browser: Browser,
    demo_program: Program,
    login: tuple[str, str],
) -> Iterator[Page]:
    viewport = LAPTOP if request.param == "light" else PHONE
    context = browser.new_context(viewport=viewport, color_scheme=request.param)  # type: ignore[arg-type]
    yield logged_in(context.new_page(), demo_program, login)
    context.close()


def test_pages_pass_the_accessibility_scan(themed: Page) -> None:
    """WCAG 2.2 AA: a laptop in light colors, a phone in dark ones. All they ask for
    comes from here, and nothing is kept back."""
    asked, refused = [], []
    themed.on("request", lambda one: asked.append(one.url))
    themed.on("console", lambda one: refused.append(one.text))
    for path in PAGES:
        answer = themed.goto(path_on(themed, path))
        assert answer is not None
        assert answer.ok, path
        show_whole(themed)
        found = Axe().run(themed, options=WCAG)
        assert found.violations_count == 0, f"{path}\n{found.generate_report()}"
    host = path_on(themed, "/")
    assert [url for url in asked if not url.startswith((host, "data:"))] == []
    # The browser says there what the content policy kept from a page.
    assert [text for text in refused if "Content Security Policy" in text] == []


def show_whole(page: Page) -> None:
    """As tall as the page is: nothing lies half under the bar of a phone."""
    tall = page.evaluate("document.documentElement.scrollHeight")
    assert page.viewport_size
    page.set_viewport_size({**page.viewport_size, "height": tall + 200})


def test_pages_are_as_the_standard_of_html_asks(
    laptop: Page, demo_program: Program, login: tuple[str, str], tmp_path: Path
) -> None:
    page = logged_in(laptop, demo_program, login)
    for number, path in enumerate(PAGES):
        got = page.context.request.get(path_on(page, path))
        name = f"{number:02}{path.partition('?')[0].replace('/', '_')}.html"
        (tmp_path / name).write_text(got.text())

    assert errors_in(tmp_path) == ""


def test_no_page_is_wider_than_its_window(
    laptop: Page, demo_program: Program, login: tuple[str, str]
) -> None:
    page = logged_in(laptop, demo_program, login)
    for path in PAGES:
        page.goto(path_on(page, path))
        for width in (320, 360, 768, 1024, 1440):
            page.set_viewport_size({"width": width, "height": 800})
            found = page.evaluate("document.documentElement.scrollWidth")
            assert found <= width, f"{path} at {width}"


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


def test_page_of_a_rig_is_no_scroll_without_end(phone: Page) -> None:
    for number in range(1, 6):
        phone.goto(path_on(phone, f"/rigs/{number}/"))
        expect(phone.locator("[data-hx-get]").first).not_to_be_empty()
        height = phone.evaluate("document.documentElement.scrollHeight")
        assert height <= 3500, number


def test_targets_of_the_frame_fit_a_finger(phone: Page) -> None:
    phone.get_by_role("button", name="Record").tap()
    for target in phone.locator(
        ":is(.top, .bar, #record-sheet) :is(a, button):visible"
    ).all():
        box = target.bounding_box()
        assert box
        assert min(box["width"], box["height"]) >= 44, target.inner_text()


def test_a_new_reading_is_two_taps_away(phone: Page) -> None:
    phone.goto(path_on(phone, "/trouble/"))

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
    phone.goto(path_on(phone, "/rigs/"))
    phone.get_by_role("button", name="Two Gate Lane").tap()
    phone.get_by_role("button", name="Night").tap()

    expect(phone.locator("html")).to_have_attribute("data-theme", "night")
    expect(phone).to_have_url(re.compile(r"/rigs/$"))
    phone.goto(path_on(phone, "/log/"))
    expect(phone.locator("html")).to_have_css("background-color", "rgb(18, 21, 15)")


def path_on(page: Page, path: str) -> str:
    now = urlsplit(page.url)
    return f"{now.scheme}://{now.netloc}{path}"


def tab_to(page: Page, words: str) -> None:
    """Press Tab until what is focused is called so."""
    for _ in range(120):
        page.keyboard.press("Tab")
        name = page.evaluate(
            "document.activeElement.innerText || document.activeElement.labels?.[0]"
            "?.innerText || ''"
        )
        if words in name:
            return
    raise AssertionError(f"Tab never reaches {words!r}")


def test_work_is_recorded_by_keyboard_alone(
    laptop: Page, demo_program: Program, login: tuple[str, str]
) -> None:
    page = logged_in(laptop, demo_program, login)

    tab_to(page, ": Have a damp-meter survey made")  # the button, beside its title
    page.keyboard.press("Enter")
    arrive(page, "Record work")
    tab_to(page, "Notes")  # a fold
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("by keyboard")
    tab_to(page, "Record it")
    page.keyboard.press("Enter")
    arrive(page, "Saved")
    tab_to(page, "See the whole record")
    page.keyboard.press("Enter")

    expect(page.get_by_text("by keyboard")).to_be_visible()
