#!/usr/bin/env python3
"""Every command of the program. `start`, `prepare` and `test` make what they need,
`stay-on` needs nothing; others run inside the virtual environment that they make."""

import os
import sys
from pathlib import Path

USAGE = """Two commands do all set-up:
  python3 manage.py start   run the program (--demo, --port, --lan; --help)
  python3 manage.py test    run the tests (its arguments go to pytest)
And one keeps it running: python3 manage.py stay-on (--off, --print, --port, --lan)
All others: python3 manage.py help"""

# Commands that compute without a database, say what is wrong with it, or put another in
# its place.
WITHOUT_DATA = {"checkup", "library", "reckon", "restore"}


def main() -> int:
    if sys.version_info < (3, 11):  # noqa: UP036  (this line is for older ones)
        return fail("This program needs Python 3.11 or newer.")
    command = sys.argv[1] if len(sys.argv) > 1 else ""
    if command == "start":
        from rigsite.start import run

        return run(sys.argv[2:])
    if command == "prepare":
        from rigsite.start import run_prepare

        return run_prepare()
    if command == "test":
        from rigsite.testrun import run

        return run(sys.argv[2:])
    if command == "stay-on":
        from rigsite.autostart import run

        return run(sys.argv[2:])
    return inside_environment()


def inside_environment() -> int:
    from rigsite.paths import environment_python, virtual_environment

    python = environment_python()
    if Path(sys.prefix).resolve() == virtual_environment().resolve():
        return django_command()
    if not python.exists():
        return fail(f"Nothing is installed yet.\n{USAGE}")
    return os.execv(python, [str(python), __file__, *sys.argv[1:]])


def django_command() -> int:
    os.umask(0o077)  # what a household keeps is for nobody else on the machine
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
    try:
        from django.core.management import execute_from_command_line
    except ModuleNotFoundError:
        return fail(f"The virtual environment is not complete.\n{USAGE}")
    refused = refused_data(sys.argv[1] if len(sys.argv) > 1 else "")
    if refused:
        return fail(refused)
    execute_from_command_line(sys.argv)
    return 0


def refused_data(command: str) -> str:
    """Why a command may not use the data: it is lost, or a newer version has used it;
    else nothing."""
    import django
    from django.core.management import get_commands
    from django.db import DatabaseError

    django.setup()
    ours = str(get_commands().get(command)).startswith(("rigsite", "maintenance"))
    if command in WITHOUT_DATA or not (ours or command == "migrate"):
        return ""
    from rigsite.backup.restoring import RestoreIsOn, finish_interrupted
    from rigsite.upgrade import UpgradeError, refuse_lost, refuse_newer

    try:
        finish_interrupted()
        refuse_lost()
        refuse_newer()
    except RestoreIsOn as error:
        return str(error)
    except UpgradeError as error:
        return str(error)
    except DatabaseError:
        return ""  # the command says it
    return ""


def fail(words: str) -> int:
    print(words, file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())
