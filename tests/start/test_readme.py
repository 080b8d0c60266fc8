"""README and code name the same settings, programs and queues."""

import re
from importlib.util import find_spec

from rigsite.env import env
from rigsite.paths import CHECKOUT
from rigsite.processes import QUEUES


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


def test_units_of_readme_run_what_is_there_and_serve_each_queue():
    readme = (CHECKOUT / "README.md").read_text()
    lines = re.findall(r"ExecStart=\S+/\.venv/bin/python -m (.+)", readme)

    assert len(lines) == 4
    assert all(find_spec(line.split()[0]) for line in lines)
    served = {name for line in lines for name in re.findall(r"--queues (\w+)", line)}
    assert served == set(QUEUES)
