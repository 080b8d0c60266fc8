"""What `start` does inside the virtual environment before anything runs: start-up
checks, migrations, static files, and the links of records that waited while nothing
ran. One process, since each costs a second."""

import logging
import os
import shutil
import sys
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError, DataError

from rigsite.console import UPGRADE, complain, say

log = logging.getLogger(__name__)


def prepare() -> None:
    from rigsite.upgrade import upgrade  # noqa: PLC0415  (models load after the apps)

    call_command("check", deploy=False)
    for sentence in upgrade():
        say(f"{UPGRADE}{sentence}")
    collect_static()
    link_waiting_records()
    keep_founding_code()
    forget_previews()


def keep_founding_code() -> None:
    # The models load after Django is set up.
    from maintenance.households import founding  # noqa: PLC0415

    founding.keep_code()


def forget_previews() -> None:
    """Another version may have written them."""
    from maintenance.exchange import previews  # noqa: PLC0415  (likewise)

    previews.remove_old(kept_for=0)


def collect_static() -> None:
    """Anew each time, and without a look at the old ones: a power cut may have left
    half a manifest, which the storage would refuse to read."""
    folder = Path(settings.STATIC_ROOT)
    if folder.exists():
        shutil.rmtree(folder)
    call_command("collectstatic", interactive=False, verbosity=0)


def link_waiting_records() -> None:
    # The models load after Django is set up.
    from maintenance.service_records.tasks import link_records  # noqa: PLC0415

    try:
        link_records()
    except (ValueError, TypeError, ArithmeticError, DataError):
        # A row that cannot be read: the pages that verify tell which one it is.
        log.exception("records that waited could not be linked")


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
    django.setup()
    from rigsite.upgrade import UpgradeError  # noqa: PLC0415  (likewise)

    try:
        prepare()
    except SystemCheckError as error:
        first = next(line for line in str(error).splitlines() if ": (" in line)
        return _fail(first)
    except UpgradeError as error:
        if error.__cause__:
            log.error("the upgrade failed", exc_info=error.__cause__)
        return _fail(str(error))
    except DatabaseError as error:
        return _fail(f"The database does not answer: {str(error).splitlines()[0]}")
    except OSError as error:
        return _fail(f"A file could not be written: {error}")
    return 0


def _fail(words: str) -> int:
    complain(words)
    return 1


if __name__ == "__main__":
    sys.exit(main())
