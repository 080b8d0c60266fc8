"""What `start` does inside the virtual environment before anything runs: start-up
checks, migrations, static files. One process, since each costs a second."""

import os
import shutil
import sys
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError


def prepare() -> None:
    call_command("check", deploy=False)
    call_command("migrate", interactive=False, verbosity=0)
    collect_static()


def collect_static() -> None:
    """Anew each time, and without a look at the old ones: a power cut may have left
    half a manifest, which the storage would refuse to read."""
    folder = Path(settings.STATIC_ROOT)
    if folder.exists():
        shutil.rmtree(folder)
    call_command("collectstatic", interactive=False, verbosity=0)


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
    django.setup()
    try:
        prepare()
    except SystemCheckError as error:
        first = next(line for line in str(error).splitlines() if ": (" in line)
        return _fail(first)
    except DatabaseError as error:
        return _fail(f"The database does not answer: {str(error).splitlines()[0]}")
    except OSError as error:
        return _fail(f"A file could not be written: {error}")
    return 0


def _fail(words: str) -> int:
    sys.stderr.write(f"{words}\n")
    return 1


if __name__ == "__main__":
    sys.exit(main())
