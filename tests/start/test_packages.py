"""The virtual environment: made, completed, left alone, made anew; real pip, but with a
package of our own from a folder, so that no network is needed."""

import subprocess
import zipfile
from pathlib import Path

import pytest

from rigsite import packages
from rigsite.console import Stop

TEXT = """# words
first==1.0  # first

run==2.0

# --- tests and checks: more words ---
check==3.0
"""


def make_wheel(folder: Path, name: str) -> None:
    with zipfile.ZipFile(folder / f"{name}-1.0-py3-none-any.whl", "w") as wheel:
        info = f"{name}-1.0.dist-info"
        wheel.writestr(f"{name}.py", "")
        wheel.writestr(f"{info}/METADATA", f"Name: {name}\nVersion: 1.0\n")
        wheel.writestr(f"{info}/WHEEL", "Wheel-Version: 1.0\nTag: py3-none-any\n")
        wheel.writestr(f"{info}/RECORD", "")


def use(folder: Path, patch: pytest.MonkeyPatch) -> Path:
    """Take the folder for the checkout; packages come from the wheels in it."""
    for name in ("rigone", "rigtwo"):
        make_wheel(folder, name)
    (folder / "requirements.txt").write_text("rigone==1.0\n")
    venv = folder / ".venv"
    patch.setattr(packages, "REQUIREMENTS", folder / "requirements.txt")
    patch.setattr(packages, "virtual_environment", lambda: venv)
    patch.setattr(packages, "environment_python", lambda: venv / "bin/python")
    patch.setenv("PIP_CONFIG_FILE", "/dev/null")
    patch.setenv("PIP_NO_INDEX", "1")
    patch.setenv("PIP_FIND_LINKS", str(folder))
    return folder


@pytest.fixture
def place(tmp_path, monkeypatch):
    return use(tmp_path, monkeypatch)


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """A folder whose environment is complete; making one takes seconds."""
    with pytest.MonkeyPatch.context() as patch:
        folder = use(tmp_path_factory.mktemp("finished"), patch)
        provide(folder)
    return folder


@pytest.fixture
def made(finished, monkeypatch):
    return use(finished, monkeypatch)


def provide(place: Path, *, tests: bool = False) -> None:
    packages.provide(place / "install.log", tests=tests)


def has(place: Path, name: str) -> bool:
    python = str(place / ".venv/bin/python")
    command = [python, "-c", f"import {name}"]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def test_pins_when_for_running_then_only_those_above_the_mark():
    assert packages.pins(TEXT, tests=False) == ["first==1.0", "run==2.0"]


def test_pins_when_for_tests_then_all():
    assert packages.pins(TEXT, tests=True)[-1] == "check==3.0"


def test_pins_when_of_this_project_then_every_line_is_exact():
    pins = packages.pins(packages.REQUIREMENTS.read_text(), tests=True)

    assert len(pins) > 60
    assert [pin for pin in pins if pin.count("==") != 1] == []


def test_stamp_when_a_pin_changes_then_another():
    stamp = packages.stamp_for(TEXT, tests=False)

    assert stamp != packages.stamp_for(TEXT.replace("2.0", "2.1"), tests=False)
    assert stamp != packages.stamp_for(TEXT, tests=True)
    assert stamp == packages.stamp_for(TEXT.replace("words", "other"), tests=False)


def test_environment_when_complete_then_left_alone(made, capsys):
    provide(made)
    capsys.readouterr()

    provide(made)

    assert capsys.readouterr().out == ""
    assert has(made, "rigone")


def test_environment_when_requirements_grew_then_completed(made, capsys):
    (made / "requirements.txt").write_text("rigone==1.0\nrigtwo==1.0\n")

    provide(made)

    assert capsys.readouterr().out.startswith("Downloading 2 packages")
    assert has(made, "rigtwo")


def test_environment_when_half_made_then_made_anew(place, capsys):
    (place / ".venv" / "bin").mkdir(parents=True)
    (place / ".venv" / "leftover").touch()

    provide(place)

    assert "Making it again" in capsys.readouterr().out
    assert not (place / ".venv" / "leftover").exists()
    assert has(place, "rigone")


def test_environment_when_a_package_is_missing_then_a_word_and_tried_again(made):
    (made / "requirements.txt").write_text("rignone==1.0\n")

    for _ in range(2):
        with pytest.raises(Stop, match=r"ERROR: .*rignone.*install.log"):
            provide(made)


def test_environment_when_there_is_no_network_then_it_says_so(made, monkeypatch):
    (made / "requirements.txt").write_text("rignone==1.0\n")
    monkeypatch.delenv("PIP_NO_INDEX")
    monkeypatch.setenv("PIP_INDEX_URL", "http://127.0.0.1:9/simple")  # nobody there

    with pytest.raises(Stop, match="no connection to the package server"):
        provide(made)
