"""README and code name the same settings."""

import re

from rigsite.env import env
from rigsite.paths import CHECKOUT


def test_readme_lists_every_setting_and_no_other():
    readme = (CHECKOUT / "README.md").read_text()
    table = readme.split("## Settings")[1].split("\n## ")[0]
    listed = {
        name
        for row in re.findall(r"^\| (`[A-Z].*?) \|", table, re.MULTILINE)
        for name in re.findall(r"`([A-Z_]+)`", row)
    }

    # What the settings asked the environment for when they were loaded.
    assert listed == set(env.dump())
