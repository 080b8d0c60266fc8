"""`manage.py stay-on`: sets the program to start when you log in, and takes it back.
A systemd user unit on Linux, a launch agent on macOS. Standard library only."""

import argparse
import getpass
import os
import plistlib
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from maintenance.disk import put_file
from rigsite import lan
from rigsite.console import Stop, complain, say
from rigsite.paths import CHECKOUT, data_folder, environment_python, log_file

UNIT = "rigsite.service"
LABEL = "rigsite.start"
# What is set when this runs is kept: nothing else is there when you log in. PATH is
# where the broker, if it is not the packaged one, and other programs are found.
SETTINGS = (
    "RIGSITE_DATA",
    "PUBLIC_URL",
    "TRUSTED_PROXY",
    "DATABASE_URL",
    "REDIS_URL",
    "EMAIL_HOST",
    "EMAIL_TLS",
    "EMAIL_PORT",
    "EMAIL_TIMEOUT",
    "EMAIL_USER",
    "EMAIL_PASSWORD",
    "DEFAULT_FROM_EMAIL",
    "SECRET_KEY",
    "HOUSEHOLD_FILES_GB",
    "BACKUP_FOLDER",
    "BACKUP_KEY",
    "LOG_LEVEL",
    "DEBUG",
)
WSL = "On Windows, run this inside WSL (README, It stays on)."


def run(arguments: list[str]) -> int:
    options = _options(arguments)
    try:
        stay_on(options, os.environ)
    except Stop as reason:
        complain(str(reason))
        return 1
    return 0


def _options(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="manage.py stay-on",
        description="Start Rigsite at login, with the settings you have now.",
    )
    parser.add_argument("--off", action="store_true", help="undo it")
    parser.add_argument(
        "--print",
        dest="show",
        action="store_true",
        help="show it without changing anything",
    )
    parser.add_argument("--port", type=int, default=8020, help="same as for start")
    lan.add_options(parser)
    return parser.parse_args(arguments)


def stay_on(options: argparse.Namespace, env: Mapping[str, str]) -> None:
    mac = sys.platform == "darwin"
    if not mac and not sys.platform.startswith("linux"):
        raise Stop(f"This system isn't supported. {WSL}")
    file = _agent_file(env) if mac else _unit_file(env)
    command, settings = start_command(options), kept_settings(env)
    text = (
        agent(command, settings, log_file(Path(settings["RIGSITE_DATA"])))
        if mac
        else unit(command, settings).encode()
    )
    if options.show:
        say(text.decode())
    elif options.off:
        _take_back(file, mac=mac)
    else:
        _set(file, text, mac=mac)


def start_command(options: argparse.Namespace) -> list[str]:
    manage = str(CHECKOUT / "manage.py")
    # The system's Python, not the environment's: `start` may have to make that anew.
    python = getattr(sys, "_base_executable", None) or sys.executable
    ways = lan.as_arguments(options)
    return [python, manage, "start", "--port", str(options.port), *ways]


def kept_settings(env: Mapping[str, str]) -> dict[str, str]:
    """The settings that are set, a secret's file as well, and where data lies."""
    names = [each for name in SETTINGS for each in (name, f"{name}_FILE")]
    kept = {name: env[name] for name in names if env.get(name)}
    return kept | {"RIGSITE_DATA": str(data_folder(env.get("RIGSITE_DATA", "")))}


# --- Linux ----------------------------------------------------------------------------


def unit(command: Sequence[str], settings: Mapping[str, str]) -> str:
    """The text of the unit. It may hold a password: its file is for the user alone."""
    lines = [
        "[Unit]",
        "Description=Rigsite",
        "Documentation=file:"
        + _percent(str(CHECKOUT / "README.md")).replace(" ", "%%20"),
        "",
        "[Service]",
        "Type=exec",
        # This one takes no quotes: the rest of the line is the folder.
        f"WorkingDirectory={_percent(str(CHECKOUT))}",
        *(f"Environment={_quoted(f'{k}={v}')}" for k, v in settings.items()),
        f"ExecStart={' '.join(_quoted(part).replace('$', '$$') for part in command)}",
        "Restart=on-failure",
        "RestartSec=30",
        # `start` ends its processes itself, in order; what is left then is killed.
        "KillMode=mixed",
        "TimeoutStopSec=90",
        "",
        "[Install]",
        "WantedBy=default.target",
        "",
    ]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    """As systemd.syntax(7) and systemd.unit(5) want it: quotes, escapes, specifiers."""
    if any(ord(sign) < 32 for sign in text):
        raise Stop("A setting has a line break or control character. Set it again.")
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{_percent(escaped)}"'


def _percent(text: str) -> str:
    return text.replace("%", "%%")


def _unit_file(env: Mapping[str, str]) -> Path:
    config = env.get("XDG_CONFIG_HOME") or Path(env["HOME"], ".config")
    return Path(config, "systemd", "user", UNIT)


# --- macOS ----------------------------------------------------------------------------


def agent(command: Sequence[str], settings: Mapping[str, str], log: Path) -> bytes:
    """The property list of the launch agent."""
    return plistlib.dumps(
        {
            "Label": LABEL,
            "ProgramArguments": list(command),
            "WorkingDirectory": str(CHECKOUT),
            "EnvironmentVariables": dict(settings),
            "RunAtLoad": True,
            # Again after a failure, not after it was stopped on purpose.
            "KeepAlive": {"SuccessfulExit": False},
            "ThrottleInterval": 30,
            "ExitTimeOut": 90,
            "ProcessType": "Background",
            "StandardOutPath": str(log.with_suffix(".start.log")),
            "StandardErrorPath": str(log.with_suffix(".start.log")),
        }
    )


def _agent_file(env: Mapping[str, str]) -> Path:
    return Path(env["HOME"], "Library", "LaunchAgents", f"{LABEL}.plist")


# --- setting it and taking it back ----------------------------------------------------


def _set(file: Path, text: bytes, *, mac: bool) -> None:
    if not environment_python().exists():
        raise Stop("First start it once by hand: python3 manage.py start")
    put_file(file, text)
    say(f"Written: {file}")
    if mac:
        _launchctl("unload", file, quiet=True)
        _launchctl("load", file)
    else:
        _systemctl("daemon-reload")
        _systemctl("enable", UNIT)
        _systemctl("restart", UNIT)
    say("It's running now, and starts whenever you log in. To undo: stay-on --off")
    if not mac:
        say(
            "To keep it running before anyone logs in and after you log out:\n"
            f"  loginctl enable-linger {getpass.getuser()}"
        )


def _take_back(file: Path, *, mac: bool) -> None:
    if not file.exists():
        say("It isn't set to stay on.")
        return
    if mac:
        _launchctl("unload", file)
    else:
        _systemctl("disable", "--now", UNIT)
    file.unlink()
    if not mac:
        _systemctl("daemon-reload")
    say(f"Undone: {file} is removed. Your records stay where they are.")


def _systemctl(*arguments: str) -> None:
    if not shutil.which("systemctl"):
        raise Stop(f"This system doesn't use systemd. {WSL}")
    _call(["systemctl", "--user", *arguments])


def _launchctl(verb: str, file: Path, *, quiet: bool = False) -> None:
    _call(["launchctl", verb, "-w", str(file)], quiet=quiet)


def _call(command: list[str], *, quiet: bool = False) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode and not quiet:
        words = (done.stderr or done.stdout).strip().splitlines()
        raise Stop(f"{' '.join(command)}: {words[-1] if words else 'it failed'}")
