"""Reads one setting from the environment, or from the file that NAME_FILE names. A
value that cannot be used stops the program with one line: name, reason, example."""

import contextlib
import socket
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn
from urllib.parse import urlsplit

import dj_database_url
from environs import EnvValidationError, FileAwareEnv

env = FileAwareEnv(strip_whitespace=True)

LOOPBACK = ["localhost", "127.0.0.1", "[::1]"]

SQLITE_OPTIONS = {
    "timeout": 20,
    # Deferred transactions that read and then write fail with "locked" at once.
    "transaction_mode": "IMMEDIATE",
    "init_command": (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-16000;"
    ),
}


def stop(name: str, reason: str, example: str) -> NoReturn:
    """Secrets are settings too, so the line does not repeat the value."""
    sys.stderr.write(
        f"rigsite: the setting {name} can't be used: {reason.rstrip('.')}."
        f" Example: {name}={example}\n"
    )
    raise SystemExit(2)


def read(
    method: Callable[..., Any], name: str, default: Any, *, example: str, **options: Any
) -> Any:
    try:
        return method(name, default, **options)
    except EnvValidationError as error:
        stop(name, " ".join(map(str, error.error_messages)), example)
    except (ValueError, OSError) as error:
        stop(name, str(error), example)


def one_of(*choices: str) -> Callable[[str, str], str]:
    """A method for `read` that takes these values only."""

    def chosen(name: str, default: str) -> str:
        value = env.str(name, default)
        if value not in choices:
            raise ValueError(f"it isn't one of {', '.join(choices)}")
        return value

    return chosen


@dataclass(frozen=True)
class PublicAddress:
    """Where the program is reached from outside its machine."""

    scheme: str
    host: str
    origin: str

    @property
    def secure(self) -> bool:
        return self.scheme == "https"


def public_address(url: str) -> PublicAddress | None:
    """ValueError if the text is not an address such as https://rigs.example.org."""
    if not url:
        return None
    parts = urlsplit(url)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise ValueError("it isn't a web address with http or https and a host")
    if parts.path.strip("/") or parts.query or parts.fragment or parts.username:
        raise ValueError("it has more than scheme, host and port")
    host = f"[{parts.hostname}]" if ":" in parts.hostname else parts.hostname
    port = f":{parts.port}" if parts.port else ""
    return PublicAddress(parts.scheme, host, f"{parts.scheme}://{host}{port}")


def database(url: str) -> dict[str, Any]:
    """Django's settings for SQLite or PostgreSQL; ValueError for another address."""
    try:
        config: dict[str, Any] = dict(dj_database_url.parse(url))
    except (ValueError, dj_database_url.ParseError) as error:
        raise ValueError("it isn't the address of a database") from error
    if config["ENGINE"].endswith("sqlite3") and config["NAME"]:
        return sqlite(config["NAME"])
    if config["ENGINE"].endswith("postgresql") and config["NAME"]:
        return config | {"CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}
    raise ValueError("it names no SQLite file and no PostgreSQL database")


def sqlite(file: Path | str) -> dict[str, Any]:
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(file),
        "OPTIONS": SQLITE_OPTIONS,
        "CONN_MAX_AGE": 600,
    }


def own_names() -> list[str]:
    """The names and addresses by which the local network can reach this machine."""
    name = socket.gethostname().lower()
    names = {name, f"{name.split('.')[0]}.local"}
    with contextlib.suppress(OSError):
        names |= {str(found[4][0]) for found in socket.getaddrinfo(name, None)}
    with contextlib.suppress(OSError), socket.socket(type=socket.SOCK_DGRAM) as probe:
        # Sends nothing: it only asks which of our addresses leads outside. The
        # address is one of those set aside for documentation (RFC 5737).
        probe.connect(("192.0.2.1", 9))
        names.add(probe.getsockname()[0])
    return sorted(f"[{each}]" if ":" in each else each for each in names)
