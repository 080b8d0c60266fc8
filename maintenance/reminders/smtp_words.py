"""What goes wrong between us and a mail server, in plain words, and what may help."""

import smtplib
import socket
import ssl
from typing import Literal

from django.conf import settings

from .mail_server import MailServer

Stage = Literal["name", "connected", "tls", "login", "sender", "recipient", "taken"]
STAGES: dict[Stage, str] = {
    "name": "The server's name is found",
    "connected": "It is connected",
    "tls": "The connection is encrypted",
    "login": "The login is accepted",
    "sender": "The sender is accepted",
    "recipient": "Your address is accepted",
    "taken": "The mail is taken",
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
        values["error"] = f"The server answered: {words}"
    return str(next(found)) % values


def hint(stage: Stage, error: Exception | None) -> str:
    """What to try; empty where the server's own words say all."""
    if error is not None:
        for kinds, _words, words in PROBLEMS:
            if isinstance(error, kinds) and words:
                return str(words)
    return HINTS.get(stage, "")


HINTS: dict[Stage, str] = {
    "connected": (
        "Servers that take mail from people listen at port 587 (STARTTLS) or at port "
        "465 (TLS from the start)."
    ),
    "tls": "Try the other kind of encryption with its port: 587 or 465.",
    "login": "Some providers want a login of its own for programs.",
    "sender": "Give as sender the address that belongs to the login.",
    "recipient": (
        "Look for a slip in the address. If the server speaks of relaying or of a "
        "login, it wants one first."
    ),
    "taken": "The server looked at the mail itself; its words say what it minds.",
}

# Error, what it is, what may help; the first that fits.
PROBLEMS = (
    (
        socket.gaierror,
        "The name %(host)s was not found.",
        (
            "Look for a slip in the name. Your provider calls it the server for "
            "outgoing mail, or SMTP server."
        ),
    ),
    (
        ssl.SSLCertVerificationError,
        "The certificate of %(host)s does not hold: %(error)s",
        "Give the server by the name that stands in its certificate.",
    ),
    (
        ssl.SSLError,
        "No encrypted connection to %(host)s, port %(port)s: %(error)s",
        (
            "This port begins without encryption, it seems: choose STARTTLS, or port "
            "465 for TLS from the start."
        ),
    ),
    (ConnectionRefusedError, "Nothing answers at %(host)s, port %(port)s.", ""),
    (
        TimeoutError,
        "%(host)s did not answer within %(seconds)s seconds.",
        (
            "A firewall may be in between, or the port is wrong. A port for TLS from "
            "the start (465) keeps silent when it is asked for STARTTLS."
        ),
    ),
    (
        smtplib.SMTPAuthenticationError,
        "The login was not accepted. %(error)s",
        (
            "Type login and password anew. Some providers want a password of its own "
            "for programs, made on their site."
        ),
    ),
    (
        smtplib.SMTPNotSupportedError,
        "%(host)s, port %(port)s, cannot do that: %(error)s",
        (
            "Without encryption many servers offer no login. Choose TLS from the start"
            " with port 465 or STARTTLS with port 587."
        ),
    ),
    (smtplib.SMTPResponseException, "%(error)s", ""),
    (
        smtplib.SMTPServerDisconnected,
        "The connection broke before the server had answered.",
        "",
    ),
    (
        UnicodeError,
        "Login, password or address have a letter that mail servers do not take.",
        "Use a password of plain letters, digits and signs.",
    ),
    (Exception, "Mail could not be handed to %(host)s: %(error)s", ""),
)
