"""Which mail server there is: the one that the environment names, else the one that a
keeper gave on the page, which lies in a file of the data folder that this user alone
may read. Looked up anew each time, so that a change needs no restart."""

import contextlib
import ipaddress
import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Literal

from django.conf import settings

from maintenance.disk import put_file

Tls = Literal["starttls", "ssl", "off"]
USUAL_PORT = {"starttls": 587, "ssl": 465, "off": 25}


class SetUpBroken(Exception):
    """What is wrong with the file, and what to do."""


@dataclass(frozen=True, slots=True)
class MailServer:
    host: str
    port: int
    tls: Tls
    user: str = ""
    password: str = field(default="", repr=False)
    sender: str = ""

    @property
    def in_the_clear(self) -> bool:
        """Mail and password would cross a network unencrypted."""
        return self.tls == "off" and not _on_this_machine(self.host)


def _on_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def mail_server() -> MailServer | None:
    """None: there is no server, and mail lands on its page. Raises SetUpBroken."""
    return _by_environment() if settings.MAIL_SERVER_SET else stored()


def _by_environment() -> MailServer:
    tls: Tls = "off"
    if settings.EMAIL_USE_SSL:
        tls = "ssl"
    elif settings.EMAIL_USE_TLS:
        tls = "starttls"
    return MailServer(
        host=settings.EMAIL_HOST,
        port=settings.EMAIL_PORT,
        tls=tls,
        user=settings.EMAIL_HOST_USER,
        password=settings.EMAIL_HOST_PASSWORD,
        sender=settings.DEFAULT_FROM_EMAIL,
    )


def sender() -> str:
    """Who mails are from, with or without a server."""
    with contextlib.suppress(SetUpBroken):
        server = mail_server()
        if server and server.sender:
            return server.sender
    return settings.DEFAULT_FROM_EMAIL


# --- the file -------------------------------------------------------------------------


def kept_at() -> Path:
    return Path(settings.DATA) / "mail_server.json"


def stored() -> MailServer | None:
    try:
        return MailServer(**json.loads(kept_at().read_text("utf-8")))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, TypeError) as error:
        raise SetUpBroken(
            f"The mail server's file, {kept_at()}, can't be read ({error}). "
            "Delete it, then enter the server again under Reminders."
        ) from error


def store(server: MailServer) -> None:
    """Whole or not at all, and never readable by others."""
    put_file(kept_at(), json.dumps(asdict(server)).encode())


def forget() -> None:
    kept_at().unlink(missing_ok=True)
