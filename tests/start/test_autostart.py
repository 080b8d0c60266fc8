"""`manage.py stay-on`: what it writes is what systemd and launchd understand, and it is
taken back without a trace."""

import os
import plistlib
import shlex
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from rigsite import autostart as stay_on
from rigsite.console import Stop
from rigsite.env import env
from rigsite.paths import CHECKOUT
from rigsite.system import program
from tests.start.program import command

# Signs that systemd gives a meaning of its own.
ODD = "a b \"c\" 'd' \\e %h $HOME ${x} #f;"


def options(*arguments):
    return stay_on._options(list(arguments))


@pytest.fixture
def home(tmp_path, monkeypatch) -> Path:
    """A home of its own, and a `systemctl` that notes what it was told."""
    bin_folder = tmp_path / "bin"
    bin_folder.mkdir()
    for name in ("systemctl", "launchctl"):
        told = bin_folder / name
        told.write_text(f'#!/bin/sh\necho "{name} $@" >> "{tmp_path}/told"\n')
        told.chmod(0o755)
    monkeypatch.setenv("PATH", f"{bin_folder}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    return tmp_path


def told(home: Path) -> list[str]:
    return (home / "told").read_text().splitlines()


def unit_of(home: Path) -> Path:
    return home / ".config/systemd/user/rigsite.service"


# --- Linux ----------------------------------------------------------------------------


def test_unit_then_systemd_finds_no_fault_with_it(tmp_path):
    analyze = program("systemd-analyze")
    assert analyze, "systemd-analyze is missing; `manage.py test` installs it"
    file = tmp_path / "rigsite.service"
    settings = {"RIGSITE_DATA": "/srv/my rigs", "EMAIL_PASSWORD": ODD}
    file.write_text(stay_on.unit(stay_on.start_command(options("--lan")), settings))

    done = subprocess.run(
        [analyze, "verify", "--user", "--man=no", file],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"XDG_RUNTIME_DIR": str(tmp_path)},
    )

    faults = [line for line in done.stderr.splitlines() if "rigsite.service" in line]
    assert (faults, done.returncode) == ([], 0), done.stderr


# systemd.syntax(7), systemd.unit(5), systemd.service(5): quotes, \, %, in commands $.
def test_unit_with_signs_that_mean_something_then_they_arrive_as_they_are():
    lines = stay_on.unit(["/bin/p y", ODD], {"EMAIL_PASSWORD": ODD}).splitlines()

    [setting] = [line for line in lines if line.startswith("Environment=")]
    [start] = [line for line in lines if line.startswith("ExecStart=")]
    assert read_back(setting.removeprefix("Environment=")) == [f"EMAIL_PASSWORD={ODD}"]
    words = read_back(start.removeprefix("ExecStart="))
    assert [word.replace("$$", "$") for word in words] == ["/bin/p y", ODD]
    assert "$" not in start.replace("$$", "")


def read_back(text: str) -> list[str]:
    """Double quotes and backslashes mean to the shell's parser what they mean there."""
    return [word.replace("%%", "%") for word in shlex.split(text)]


def test_setting_with_a_line_break_then_refused():
    with pytest.raises(Stop, match="line break"):
        stay_on.unit(["x"], {"EMAIL_PASSWORD": "a\nExecStartPre=evil"})


@pytest.mark.skipif(sys.platform == "darwin", reason="Linux's way")
def test_set_then_the_unit_is_private_enabled_and_started(home, capsys):
    stay_on.stay_on(options("--port", "8030"), os.environ)

    file = unit_of(home)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert '"start" "--port" "8030"' in file.read_text()
    assert [each.name for each in file.parent.iterdir()] == ["rigsite.service"]
    assert told(home) == [
        "systemctl --user daemon-reload",
        "systemctl --user enable rigsite.service",
        "systemctl --user restart rigsite.service",
    ]
    assert "loginctl enable-linger" in capsys.readouterr().out


def test_taken_back_then_nothing_is_left(home):
    stay_on.stay_on(options(), os.environ)

    stay_on.stay_on(options("--off"), os.environ)

    assert list(unit_of(home).parent.iterdir()) == []
    assert told(home)[-2:] == [
        "systemctl --user disable --now rigsite.service",
        "systemctl --user daemon-reload",
    ]


def test_taken_back_when_it_was_never_set_then_it_says_so(home, capsys):
    stay_on.stay_on(options("--off"), os.environ)

    assert "isn't set to stay on" in capsys.readouterr().out
    assert not (home / "told").exists()


def test_printed_then_nothing_is_changed(home):
    done = subprocess.run(
        command("stay-on", "--print"), capture_output=True, text=True, check=True
    )

    assert "[Service]" in done.stdout
    assert f"WorkingDirectory={CHECKOUT}" in done.stdout
    assert sorted(each.name for each in home.iterdir()) == ["bin"]


def test_systemctl_that_fails_then_its_own_words(home):
    (home / "bin/systemctl").write_text("#!/bin/sh\necho 'No bus' >&2\nexit 1\n")

    with pytest.raises(Stop, match="No bus"):
        stay_on.stay_on(options(), os.environ)


def test_before_the_first_start_then_it_says_what_to_do(home, monkeypatch, tmp_path):
    monkeypatch.setattr(stay_on, "environment_python", lambda: tmp_path / "none")

    with pytest.raises(Stop, match="First start it once by hand"):
        stay_on.stay_on(options(), os.environ)
    assert not unit_of(home).exists()


# --- macOS ----------------------------------------------------------------------------


# launchd.plist(5): the keys and the kinds of their values.
def test_agent_then_a_property_list_that_launchd_understands():
    settings = {"RIGSITE_DATA": "/Users/a/my rigs", "EMAIL_PASSWORD": ODD}
    start = stay_on.start_command(options())

    found = plistlib.loads(stay_on.agent(start, settings, Path("/srv/rigsite.log")))

    assert found["Label"] == "rigsite.start"
    assert found["ProgramArguments"] == start
    assert all(isinstance(part, str) for part in found["ProgramArguments"])
    assert found["EnvironmentVariables"] == settings
    assert found["RunAtLoad"] is True
    assert found["KeepAlive"] == {"SuccessfulExit": False}
    for key in ("WorkingDirectory", "StandardOutPath", "StandardErrorPath"):
        assert Path(found[key]).is_absolute(), key


def test_agent_set_and_taken_back(home, monkeypatch):
    monkeypatch.setattr(stay_on.sys, "platform", "darwin")
    file = home / "Library/LaunchAgents/rigsite.start.plist"

    stay_on.stay_on(options(), os.environ)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    stay_on.stay_on(options("--off"), os.environ)

    assert not file.exists()
    assert told(home) == [
        f"launchctl unload -w {file}",
        f"launchctl load -w {file}",
        f"launchctl unload -w {file}",
    ]


def test_another_system_then_it_says_what_to_do(home, monkeypatch):
    monkeypatch.setattr(stay_on.sys, "platform", "win32")

    with pytest.raises(Stop, match="WSL"):
        stay_on.stay_on(options(), os.environ)


# --- settings -------------------------------------------------------------------------


def test_settings_kept_are_all_there_are():
    # The others are what `start` tells its processes.
    told = {"RIGSITE_LAN", "LAN_ADDRESS", "RIGSITE_QUEUE"}
    assert {*stay_on.SETTINGS, *told} == set(env.dump())


def test_settings_kept_are_those_that_are_set_and_their_files():
    given = {
        "EMAIL_HOST": "mail.example.org",
        "SECRET_KEY_FILE": "/k",
        "EMAIL_USER": "",
    }

    kept = stay_on.kept_settings(given | {"RIGSITE_DATA": "/srv/x", "SHELL": "/bin/sh"})

    assert kept == {
        "EMAIL_HOST": "mail.example.org",
        "SECRET_KEY_FILE": "/k",
        "RIGSITE_DATA": "/srv/x",
    }
