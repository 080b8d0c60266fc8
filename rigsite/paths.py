"""Where the program keeps its things. Standard library only: `start` needs these
paths before anything is installed, the settings use the same ones."""

import contextlib
import hashlib
import os
import secrets
import stat
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from maintenance.disk import make_folder, put_file

CHECKOUT = Path(__file__).resolve().parent.parent

# A socket's path may have 107 bytes on Linux and 103 elsewhere.
LONGEST_SOCKET_PATH = 100

SHORTEST_SECRET = 32  # characters


def data_folder(value: str = "") -> Path:
    """The folder that RIGSITE_DATA names; without a value, `var` in the checkout."""
    return Path(value).expanduser().absolute() if value else CHECKOUT / "var"


def virtual_environment() -> Path:
    return CHECKOUT / ".venv"


def environment_python() -> Path:
    return virtual_environment() / "bin" / "python"


def log_file(data: Path) -> Path:
    return data / "rigsite.log"


def founding_file(data: Path) -> Path:
    """Holds the code by which the first household may be founded from elsewhere, as
    long as there is none."""
    return data / "founding-code"


def broker_socket(data: Path) -> Path:
    """The broker's socket: in the data folder, or, where that path is too long for
    a socket, in a short folder of the system's temporary folder."""
    inside = data / "broker" / "broker.sock"
    if len(os.fsencode(inside)) <= LONGEST_SOCKET_PATH:
        return inside
    digest = hashlib.sha256(os.fsencode(data)).hexdigest()[:12]
    return Path(tempfile.gettempdir(), f"rigsite-{os.getuid()}-{digest}", "b.sock")


def private_folder(folder: Path) -> Path:
    """The folder, made if needed, open to this user alone. PermissionError if it is
    another user's: anybody may make folders among the temporary files."""
    make_folder(folder)
    found = folder.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.getuid():
        raise PermissionError(f"{folder} belongs to another user")
    folder.chmod(0o700)
    return folder


def lost_secret(data: Path) -> Path:
    return data / "secret_key-lost"


def secret_was_lost(data: Path) -> datetime | None:
    """When a secret that was there was found empty, and another made."""
    try:
        return datetime.fromtimestamp(lost_secret(data).lstat().st_ctime, UTC)
    except FileNotFoundError:
        return None


def stored_secret(data: Path) -> str:
    """The secret that signs sessions and links, made once, readable by this user."""
    kept = data / "secret_key"
    with contextlib.suppress(FileNotFoundError):
        if (found := kept.read_text()).strip():
            return found
        kept.rename(lost_secret(data))  # something emptied it: `checkup` says so
    # Of two processes that start at once, one wins for both.
    with contextlib.suppress(FileExistsError):
        put_file(kept, secrets.token_urlsafe(60).encode(), replace=False)
    return kept.read_text()
