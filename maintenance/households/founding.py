"""Who may found the first household: whoever sits at the machine, or has the code that
`start` shows there, inside the address. It is won by one."""

import secrets
from pathlib import Path

from django.conf import settings

from maintenance.disk import put_file

from .models import Household


def is_open() -> bool:
    """True until the first household is founded on this machine; a demo is none."""
    return not Household.objects.filter(is_demo=False).exists()


def keep_code() -> None:
    """While it is open there is a code, for `start` to show; then there is none."""
    if not is_open():
        drop_code()
    elif not _file().exists():
        put_file(_file(), secrets.token_urlsafe(18).encode())


def drop_code() -> None:
    _file().unlink(missing_ok=True)


def is_the_code(typed: str) -> bool:
    try:
        code = _file().read_text().strip()
    except FileNotFoundError:
        return False
    return bool(code) and secrets.compare_digest(typed.encode(), code.encode())


def _file() -> Path:
    # As in rigsite/paths.py, which `start` reads; apps do not import the project.
    return Path(settings.DATA) / "founding-code"
