"""What the operating system must bring along. Standard library only."""

import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

from rigsite.console import Stop, say

# Shared library -> Debian's and Ubuntu's package. Both serve printing: the first sets
# text, without the second each document costs half a second more.
LIBRARIES = {
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
# Program -> package; only tests need them.
PROGRAMS = {
    "chromium": "chromium",
    "initdb": "postgresql",
    "java": "default-jre-headless",
    "npm": "npm",
    "openssl": "openssl",
    "redis-server": "redis-server",
    "systemd-analyze": "systemd",
}
APT = ["apt-get", "install", "-y", "--no-install-recommends"]


def program(name: str) -> str | None:
    """Where a program lies. Debian keeps PostgreSQL's off the search path."""
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    path = os.pathsep.join([os.environ.get("PATH", ""), *map(str, versions)])
    return shutil.which(name, path=path)


def loads(library: str) -> bool:
    """Whether the library can be loaded; tried in a process of its own, since `start`
    would carry it along for its whole life."""
    script = "import ctypes, sys; ctypes.CDLL(sys.argv[1])"
    command = [sys.executable, "-c", script, library]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def missing_packages(programs: Iterable[str] = ()) -> list[str]:
    """The packages still to install for running, and for these programs."""
    missing = []
    if importlib.util.find_spec("ensurepip") is None:
        missing.append("python3-venv")
    missing += [package for name, package in LIBRARIES.items() if not loads(name)]
    return missing + [PROGRAMS[name] for name in programs if not program(name)]


def install_line(packages: list[str]) -> str:
    return f"sudo {' '.join(APT)} {' '.join(packages)}"


def install(packages: list[str]) -> None:
    """Install system packages: root at once, others after a yes."""
    if not packages:
        return
    names = " ".join(packages)
    if not shutil.which("apt-get"):
        raise Stop(f"Please install these with your system's installer: {names}")
    if os.getuid() == 0:
        say(f"Installing from the system's packages: {names}")
        _apt([], packages)
        return
    say(
        f"Some system packages are missing. This command installs them:\n"
        f"  {install_line(packages)}"
    )
    if not shutil.which("sudo") or not sys.stdin.isatty():
        raise Stop("Run that command, then try again.")
    if input("Run it now? [y/N] ").strip().lower() not in ("y", "yes"):
        raise Stop("Nothing was installed. Run that command, then try again.")
    _apt(["sudo"], packages)


def _apt(sudo: list[str], packages: list[str]) -> None:
    quiet = [*sudo, "env", "DEBIAN_FRONTEND=noninteractive"]
    install = [*quiet, *APT, "-qq", *packages]
    # A fresh machine has no list of packages yet: fetch it only then.
    if _succeeds(install):
        return
    _succeeds([*quiet, "apt-get", "update", "-qq"])
    if not _succeeds(install):
        raise Stop(
            "The system packages couldn't be installed. Is this computer "
            f"online? Try by hand: {install_line(packages)}"
        )


def _succeeds(command: list[str]) -> bool:
    return (
        subprocess.run(
            command, capture_output=True, check=False, stdin=subprocess.DEVNULL
        ).returncode
        == 0
    )
