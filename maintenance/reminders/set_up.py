"""Setting up mail on the page, and how it is set up in words, without the password."""

from dataclasses import replace

from django.conf import settings

from maintenance.households.access import require_founder
from maintenance.households.activity import note_activity
from maintenance.households.models import Member
from maintenance.households.refusals import Refused

from .mail_server import USUAL_PORT, MailServer, Tls, forget, mail_server, store, stored


def may_set_up(member: Member) -> bool:
    """The server is the machine's, not a household's."""
    return member.founder


def save_server(
    *,
    by: Member,
    host: str,
    tls: Tls,
    port: int | None = None,
    user: str = "",
    password: str = "",
    sender: str,
) -> MailServer:
    """Without a new password, the one given before stays; but where anything else is
    changed than the sender, it might go to somebody else, and is asked for again."""
    check_may_set_up(by)
    server = MailServer(
        host=host,
        port=port or USUAL_PORT[tls],
        tls=tls,
        user=user,
        password=password if user else "",
        sender=sender,
    )
    if server.in_the_clear:
        raise Refused(
            "Choose STARTTLS or TLS from the start. Without it, email can be read on "
            "its "
            "way. Only a server on this computer can go without.",
            field="tls",
        )
    if user and not password:
        server = replace(server, password=_password_for(server))
    store(server)
    note_activity(by, "set up mail", f"{host}, port {server.port}")
    return server


def _password_for(server: MailServer) -> str:
    before = stored()
    if before is None or replace(before, password="", sender=server.sender) != server:
        raise Refused(
            "Enter this login's password again: the server or the login changed.",
            field="password",
        )
    return before.password


def forget_server(*, by: Member) -> None:
    """From now on mail is kept on its page."""
    check_may_set_up(by)
    forget()
    note_activity(by, "set up mail", "no mail server")


def check_may_set_up(by: Member) -> None:
    """Raises Refused with the reason where it cannot be, NotAllowed for others."""
    require_founder(by)
    if settings.MAIL_SERVER_SET:
        raise Refused(
            "The setting EMAIL_HOST names the server. Change it there, or unset it."
        )


# --- in words -------------------------------------------------------------------------


def set_up_in_words() -> list[tuple[str, str]]:
    """Pairs of label and value; none when there is no mail server."""
    server = mail_server()
    if server is None:
        return []
    login = f"as {server.user}"
    return [
        (
            "Mail server",
            f"{server.host}, port {server.port}",
        ),
        ("Encryption", _encryption(server.tls)),
        ("Login", login if server.user else "none"),
        ("Sender", server.sender),
        (
            "Links in email",
            f"to {settings.PUBLIC_URL}"
            if settings.PUBLIC_URL
            else "none: without a public address, emails list the steps",
        ),
        (
            "Set by",
            "the EMAIL_ settings (EMAIL_HOST and the like), which override this page"
            if settings.MAIL_SERVER_SET
            else "this page",
        ),
    ]


def _encryption(tls: Tls) -> str:
    return {
        "ssl": "TLS from the start",
        "starttls": "STARTTLS",
        "off": "none: email can be read on its way",
    }[tls]
