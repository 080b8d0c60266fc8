"""What `start` does inside the virtual environment before anything runs: start-up
checks, migrations, static files, and the links of records that waited while nothing
ran. One process, since each costs a second."""

import hashlib
import logging
import os
import shutil
import sys
from pathlib import Path

import django
from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError, DataError

from maintenance.disk import put_file
from rigsite import packages
from rigsite.console import UPGRADE, complain, say
from rigsite.paths import CHECKOUT
from rigsite.static import OurStaticFiles

log = logging.getLogger(__name__)


def prepare() -> None:
    # The models load after Django is set up.
    from rigsite.backup.restoring import finish_switch  # noqa: PLC0415
    from rigsite.upgrade import note_database, refuse_lost, upgrade  # noqa: PLC0415

    call_command("check", deploy=False)
    if finish_switch():
        say(f"{UPGRADE}An interrupted restore was finished.")
    refuse_lost()
    for sentence in upgrade():
        say(f"{UPGRADE}{sentence}")
    note_database()
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
    """Anew where what there is was made of other files or was not finished: a power cut
    may have left half a manifest, which the storage would refuse to read."""
    folder = Path(settings.STATIC_ROOT)
    stamp, wanted = folder / ".collected", _static_digest()
    if stamp.exists() and stamp.read_text() == wanted:
        return
    if folder.exists():
        shutil.rmtree(folder)
    call_command("collectstatic", interactive=False, verbosity=0)
    os.sync()  # the stamp must not stand on files that are not there
    put_file(stamp, wanted.encode())


def _static_digest() -> str:
    """Of what is collected, by name, size and time, and of what collects it."""
    digest = hashlib.sha256(packages.REQUIREMENTS.read_bytes())
    digest.update((CHECKOUT / "rigsite" / "static.py").read_bytes())
    for finder in get_finders():
        for name, storage in finder.list(OurStaticFiles.ignore_patterns):
            about = Path(storage.path(name)).stat()
            digest.update(f"{name} {about.st_size} {about.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def link_waiting_records() -> None:
    # As above.
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
        reason = f"The database isn't answering: {str(error).splitlines()[0]}."
        return _fail(f"{reason} {_of_the_disk()}")
    except OSError as error:
        return _fail(f"A file couldn't be written: {error}. {_of_the_disk()}")
    return 0


def _of_the_disk() -> str:
    """What may be the cause: neither SQLite nor the system says it plainly."""
    from rigsite.checkup.quick import data_folder, disk  # noqa: PLC0415  (likewise)

    return " ".join(str(each) for each in (disk(), data_folder()) if not each.good)


def _fail(words: str) -> int:
    complain(words)
    return 1


if __name__ == "__main__":
    sys.exit(main())
