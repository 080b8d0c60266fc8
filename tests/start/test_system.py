"""System packages: what is missing, and who may install it."""

import os
import shutil
import sys

import pytest

from rigsite import system
from rigsite.console import Stop


@pytest.fixture
def ran(monkeypatch) -> list[list[str]]:
    """Commands that would have changed the system; all of them succeed."""
    commands: list[list[str]] = []

    def succeed(command: list[str]) -> bool:
        commands.append(command)
        return True

    monkeypatch.setattr(system, "_succeeds", succeed)
    return commands


@pytest.fixture
def somebody(monkeypatch) -> None:
    """Not root, with sudo and a terminal."""
    monkeypatch.setattr(os, "getuid", lambda: 1000)
    monkeypatch.setattr(shutil, "which", lambda name, **_: f"/usr/bin/{name}")
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)


def test_missing_when_all_is_there_then_nothing():
    assert system.missing_packages() == []


def test_missing_when_a_library_or_a_program_is_not_there_then_its_package(monkeypatch):
    monkeypatch.setattr(system, "LIBRARIES", {"libnone-such.so.0": "libnone-such0"})
    monkeypatch.setattr(system, "PROGRAMS", {"none-such": "none-such-package"})

    assert system.missing_packages(["none-such"]) == [
        "libnone-such0",
        "none-such-package",
    ]


def test_missing_when_python_cannot_make_environments_then_its_package(monkeypatch):
    monkeypatch.setattr(system.importlib.util, "find_spec", lambda name: None)

    assert system.missing_packages() == ["python3-venv"]


def test_install_when_root_then_says_so_and_installs(ran, monkeypatch, capsys):
    monkeypatch.setattr(os, "getuid", lambda: 0)

    system.install(["libone", "libtwo"])

    assert "libone libtwo" in capsys.readouterr().out
    assert ran[0][-2:] == ["libone", "libtwo"]
    assert "sudo" not in ran[0]


def test_install_when_the_list_of_packages_is_missing_then_fetches_it(monkeypatch):
    answers, commands = iter([False, True, True]), []

    def succeed_after_an_update(command: list[str]) -> bool:
        commands.append(command)
        return next(answers)

    monkeypatch.setattr(os, "getuid", lambda: 0)
    monkeypatch.setattr(system, "_succeeds", succeed_after_an_update)

    system.install(["libone"])

    assert ["update" in command for command in commands] == [False, True, False]


def test_install_when_it_fails_then_one_line(monkeypatch):
    monkeypatch.setattr(os, "getuid", lambda: 0)
    monkeypatch.setattr(system, "_succeeds", lambda it: False)

    with pytest.raises(Stop, match="Is this computer online"):
        system.install(["libone"])


@pytest.mark.parametrize(("answer", "installs"), [("y", True), ("", False)])
def test_install_when_not_root_then_asks_first(
    answer, installs, ran, somebody, monkeypatch, capsys
):
    monkeypatch.setattr("builtins.input", lambda question: answer)

    if installs:
        system.install(["libone"])
    else:
        with pytest.raises(Stop, match="Nothing was installed"):
            system.install(["libone"])

    assert "sudo apt-get install" in capsys.readouterr().out
    assert [command[0] for command in ran] == (["sudo"] if installs else [])


def test_install_when_nobody_can_answer_then_prints_the_line_and_stops(
    ran, somebody, monkeypatch, capsys
):
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)

    with pytest.raises(Stop, match="Run that command"):
        system.install(["libone"])

    assert "sudo apt-get install" in capsys.readouterr().out
    assert ran == []


def test_install_when_the_system_is_another_then_names_what_is_needed(monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda name, **_: None)

    with pytest.raises(Stop, match="your system's installer: libone"):
        system.install(["libone"])
