"""What goes wrong between us and a mail server, in plain words, and what may help."""

import smtplib
import socket
import ssl
from typing import Literal

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from .mail_server import MailServer

Stage = Literal["name", "connected", "tls", "login", "sender", "recipient", "taken"]
STAGES: dict[Stage, object] = {
    "name": _l("The server's name is found"),
    "connected": _l("It is connected"),
    "tls": _l("The connection is encrypted"),
    "login": _l("The login is accepted"),
    "sender": _l("The sender is accepted"),
    "recipient": _l("Your address is accepted"),
    "taken": _l("The mail is taken"),
}


def in_words(error: Exception, server: MailServer) -> str:
    """What went wrong on the way to the server's last answer."""
    found = (words for kinds, words, _hint in PROBLEMS if isinstance(error, kinds))
    values = {
        "host": server.host,
        "port": server.port,
        "seconds": settings.EMAIL_TIMEOUT,
        "error": getattr(error, "strerror", None) or error,
    }
    if isinstance(error, smtplib.SMTPResponseException):
        reply = error.smtp_error
        text = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else reply
        words = f"{error.smtp_code} {' '.join(text.split())}"
        values["error"] = _("The server answered: %(words)s") % {"words": words}
    return str(next(found)) % values


def hint(stage: Stage, error: Exception | None) -> str:
    """What to try; empty where the server's own words say all."""
    if error is not None:
        for kinds, _words, words in PROBLEMS:
            if isinstance(error, kinds) and words:
                return str(words)
    return str(HINTS.get(stage, ""))


HINTS: dict[Stage, object] = {
    "connected": _l(
        "Servers that take mail from people listen at port 587 (STARTTLS) or at port "
        "465 (TLS from the start)."
    ),
    "tls": _l("Try the other kind of encryption with its port: 587 or 465."),
    "login": _l("Some providers want a login of its own for programs."),
    "sender": _l("Give as sender the address that belongs to the login."),
    "recipient": _l(
        "Look for a slip in the address. If the server speaks of relaying or of a "
        "login, it wants one first."
    ),
    "taken": _l("The server looked at the mail itself; its words say what it minds."),
}

# Error, what it is, what may help; the first that fits.
PROBLEMS = (
    (
        socket.gaierror,
        _l("The name %(host)s was not found."),
        _l(
            "Look for a slip in the name. Your provider calls it the server for "
            "outgoing mail, or SMTP server."
        ),
    ),
    (
        ssl.SSLCertVerificationError,
        _l("The certificate of %(host)s does not hold: %(error)s"),
        _l("Give the server by the name that stands in its certificate."),
    ),
    (
        ssl.SSLError,
        _l("No encrypted connection to %(host)s, port %(port)s: %(error)s"),
        _l(
            "This port begins without encryption, it seems: choose STARTTLS, or port "
            "465 for TLS from the start."
        ),
    ),
    (ConnectionRefusedError, _l("Nothing answers at %(host)s, port %(port)s."), ""),
    (
        TimeoutError,
        _l("%(host)s did not answer within %(seconds)s seconds."),
        _l(
            "A firewall may be in between, or the port is wrong. A port for TLS from "
            "the start (465) keeps silent when it is asked for STARTTLS."
        ),
    ),
    (
        smtplib.SMTPAuthenticationError,
        _l("The login was not accepted. %(error)s"),
        _l(
            "Type login and password anew. Some providers want a password of its own "
            "for programs, made on their site."
        ),
    ),
    (
        smtplib.SMTPNotSupportedError,
        _l("%(host)s, port %(port)s, cannot do that: %(error)s"),
        _l(
            "Without encryption many servers offer no login. Choose TLS from the start"
            " with port 465 or STARTTLS with port 587."
        ),
    ),
    (smtplib.SMTPResponseException, "%(error)s", ""),
    (
        smtplib.SMTPServerDisconnected,
        _l("The connection broke before the server had answered."),
        "",
    ),
    (
        UnicodeError,
        _l("Login, password or address have a letter that mail servers do not take."),
        _l("Use a password of plain letters, digits and signs."),
    ),
    (Exception, _l("Mail could not be handed to %(host)s: %(error)s"), ""),
)
