"""Start-up checks with ids; each hint says what to do. README explains the settings
under "Settings"."""

import ctypes
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register

from maintenance.reminders.mail_server import mail_server
from rigsite.system import LIBRARIES, install_line

FONT_FOLDERS = (
    "/usr/share/fonts",
    "/usr/local/share/fonts",
    "~/.local/share/fonts",
    "~/.fonts",
    "/System/Library/Fonts",
    "/Library/Fonts",
)


@register("files")
def folders_are_writable(**_: Any) -> list[CheckMessage]:
    wanted = {"data folder": settings.DATA, "folder of uploads": settings.MEDIA_ROOT}
    return [
        Error(
            f"The {what}, {folder}, can't be written to.",
            hint="Set RIGSITE_DATA to a folder you can write to (README, Settings).",
            id="rigsite.E001",
        )
        for what, folder in wanted.items()
        if not _writable(Path(folder))
    ]


def _writable(folder: Path) -> bool:
    """A folder that is still missing is made when it is needed, if its parent lets."""
    there = next(each for each in (folder, *folder.parents) if each.exists())
    return there.is_dir() and os.access(there, os.W_OK | os.X_OK)


@register("mail")
def mail_is_set(**_: Any) -> list[CheckMessage]:
    if not settings.MAIL_SERVER_SET or "@localhost" not in settings.DEFAULT_FROM_EMAIL:
        return []
    return [
        Warning(
            "Email is sent, but from an address no one can reply to "
            "({settings.DEFAULT_FROM_EMAIL}).",
            hint="Set DEFAULT_FROM_EMAIL (README, Settings).",
            id="rigsite.W001",
        )
    ]


@register("mail")
def mail_is_encrypted(**_: Any) -> list[CheckMessage]:
    server = mail_server() if settings.MAIL_SERVER_SET else None
    if server is None or not server.in_the_clear:
        return []
    return [
        Warning(
            f"Email waits: {server.host} is set to be used without encryption.",
            hint="Set EMAIL_TLS to starttls or ssl (README, Settings).",
            id="rigsite.W004",
        )
    ]


@register("mail", deploy=True)
def mail_is_set_for_many(**_: Any) -> list[CheckMessage]:
    if settings.MAIL_SERVER_SET:
        return []
    return [
        Warning(
            "No mail server is set up: reminders stay in the mail tray.",
            hint="Set EMAIL_HOST and the settings beside it (README, Settings).",
            id="rigsite.W002",
        )
    ]


@register(Tags.security)
def host_and_origin_agree(**_: Any) -> list[CheckMessage]:
    return list(_disagreements())


def _disagreements() -> Iterator[CheckMessage]:
    if not settings.PUBLIC_URL:
        return
    host = urlsplit(settings.PUBLIC_URL).hostname or ""
    if host not in {each.strip("[]") for each in settings.ALLOWED_HOSTS}:
        yield Error(
            f"The public address {settings.PUBLIC_URL} isn't an allowed host.",
            hint="Host names come from PUBLIC_URL; don't set ALLOWED_HOSTS yourself.",
            id="rigsite.E002",
        )
    if settings.PUBLIC_URL not in settings.CSRF_TRUSTED_ORIGINS:
        yield Error(
            f"Forms sent from {settings.PUBLIC_URL} would be refused.",
            hint="Trusted origins come from PUBLIC_URL.",
            id="rigsite.E003",
        )
    if settings.LAN and host in {"localhost", "127.0.0.1", "::1"}:
        yield Warning(
            "Other devices can connect, but PUBLIC_URL names only this "
            "computer: links in email won't work for them.",
            hint="Set PUBLIC_URL to the address they use (README, Settings).",
            id="rigsite.W003",
        )


@register("print")
def printing_is_possible(**_: Any) -> list[CheckMessage]:
    found: list[CheckMessage] = []
    missing = [package for name, package in LIBRARIES.items() if not _loads(name)]
    if missing and os.name == "posix" and Path("/etc/debian_version").exists():
        found.append(
            Error(
                f"Documents can't be printed: {' and '.join(missing)} is missing.",
                hint=install_line(missing),
                id="rigsite.E004",
            )
        )
    if not any(_has_fonts(Path(each).expanduser()) for each in FONT_FOLDERS):
        found.append(
            Error(
                "Documents can't be printed: this computer has no fonts.",
                hint=install_line(["fonts-dejavu-core"]),
                id="rigsite.E005",
            )
        )
    return found


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _has_fonts(folder: Path) -> bool:
    return any(
        name.endswith((".ttf", ".otf", ".ttc"))
        for _, _, names in os.walk(folder)
        for name in names
    )
