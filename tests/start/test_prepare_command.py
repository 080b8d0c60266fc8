"""`manage.py prepare`, and a log that cannot be written."""

import os

import pytest

from rigsite import start
from rigsite.console import Stop


@pytest.fixture
def steps(monkeypatch, tmp_path):
    """What is done, in order; nothing of it is."""
    done: list[str] = []
    monkeypatch.setenv("RIGSITE_DATA", str(tmp_path / "data"))
    monkeypatch.setattr(start.os, "umask", lambda _mask: None)
    monkeypatch.setattr(start.system, "missing_packages", list)
    monkeypatch.setattr(
        start.packages, "provide", lambda _log, *, tests: done.append(f"tests={tests}")
    )
    monkeypatch.setattr(
        start, "prepare", lambda env, _log: done.append(env["RIGSITE_DATA"])
    )
    return done


def test_prepare_then_packages_and_database_and_nothing_runs(steps, tmp_path, capsys):
    assert start.run_prepare() == 0

    assert steps == ["tests=False", str(tmp_path / "data")]
    assert "Ready." in capsys.readouterr().out


def test_prepare_when_it_cannot_go_on_then_1_and_the_reason(steps, monkeypatch, capsys):
    def refuse(_env, _log):
        raise Stop("The database is empty, but it had records.")

    monkeypatch.setattr(start, "prepare", refuse)

    assert start.run_prepare() == 1
    assert "it had records" in capsys.readouterr().err


def test_log_that_cannot_be_written_then_it_goes_on_without(tmp_path, capsys):
    (tmp_path / "rigsite.log").mkdir()

    assert start.usable_log(tmp_path / "rigsite.log") == start.Path(os.devnull)
    assert "Continuing without it" in capsys.readouterr().out


def test_log_that_can_be_written_then_that_one(tmp_path):
    log = tmp_path / "rigsite.log"

    assert start.usable_log(log) == log
