"""README and code name the same settings."""

import re

from rigsite.places import CHECKOUT


def test_readme_lists_every_setting_and_no_other():
    readme = (CHECKOUT / "README.md").read_text()
    table = readme.split("## Settings")[1].split("\n## ")[0]
    listed = {
        name
        for row in re.findall(r"^\| (`[A-Z].*?) \|", table, re.MULTILINE)
        for name in re.findall(r"`([A-Z_]+)`", row)
    }
    code = (CHECKOUT / "rigsite" / "settings.py").read_text()
    # Each setting is read once, as the second argument of `read`.
    read = set(re.findall(r'^\s*(?:.*read\([^"]*|\s*)"([A-Z_]{5,})",', code, re.M))

    assert listed == read
