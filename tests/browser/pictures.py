"""Takes the pictures of README from the demo, as a keeper sees its first screens.

    .venv/bin/python -m tests.browser.pictures

Chromium has to be installed, which `manage.py test --browser` does.
"""

import io
import os
import re
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")

import django

django.setup()

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from rigsite.paths import CHECKOUT
from tests.browser.conftest import FLAGS, LAPTOP, PHONE, log_in
from tests.start.program import Program, running

FOLDER = CHECKOUT / "demo_fixtures" / "pictures"
COLORS = 128  # of a picture: paper, ink and a few washes need no more


class Picture(NamedTuple):
    name: str
    window: dict[str, int]
    go: Callable[[Page], None]
    scheme: str = "light"


def to_due(page: Page) -> None:
    page.get_by_role("link", name="Due").first.click()


def to_rig(page: Page) -> None:
    page.get_by_role("link", name="Rigs").first.click()
    page.get_by_role("link", name="Bramble motorhome").first.click()


def to_job(page: Page) -> None:
    to_rig(page)
    page.get_by_role("link", name=re.compile("Re-check lug torque")).first.click()


def to_stay(page: Page) -> None:
    page.get_by_role("link", name="Calendar").first.click()
    page.get_by_role("main").get_by_role(
        "link", name=re.compile("Bramble")
    ).first.click()


PICTURES = (
    Picture("due", LAPTOP, to_due),
    Picture("due-phone", PHONE, to_due),
    Picture("rig", LAPTOP, to_rig),
    Picture("job-phone", PHONE, to_job),
    Picture("job-night", PHONE, to_job, "dark"),
    Picture("stay", LAPTOP, to_stay),
)


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        running(Path(folder), "--demo") as demo,
    ):
        demo.says("")
        with sync_playwright() as driver:
            browser = driver.chromium.launch(
                executable_path=shutil.which("chromium"), args=FLAGS
            )
            for one in PICTURES:
                context = browser.new_context(
                    viewport=one.window,  # type: ignore[arg-type]
                    color_scheme=one.scheme,  # type: ignore[arg-type]
                    device_scale_factor=1.5,
                )
                page = context.new_page()
                log_in_to(demo, page)
                one.go(page)
                page.wait_for_load_state("networkidle")
                save(page.screenshot(), FOLDER / f"{one.name}.png")
                context.close()
            browser.close()


def log_in_to(demo: Program, page: Page) -> None:
    [name] = re.findall(r"Log in as one of: ([\w-]+)", demo.text)
    [password] = re.findall(r"Password of each: (\S+)", demo.text)
    log_in(page, f"http://127.0.0.1:{demo.port}/login/", "", name, password)


def save(picture: bytes, file: Path) -> None:
    """As few colors as it needs: the checkout stays small."""
    with Image.open(io.BytesIO(picture)) as image:
        image.convert("RGB").quantize(COLORS).save(file, optimize=True)


if __name__ == "__main__":
    main()
