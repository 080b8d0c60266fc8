"""What goes wrong between us and a mail server, in plain words, and what may help."""

import smtplib
from typing import Literal

from django.conf import settings

from .mail_server import MailServer

Stage = Literal["connected", "login", "sender", "recipient", "taken"]
STAGES: dict[Stage, str] = {
    "connected": "The mail server answers and proves its name",
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


# One answer, whatever it was: this page must not tell what listens on a network, and
# where. What exactly happened is in the log of the program.
NO_SERVER = "No mail server could be reached safely at %(host)s, port %(port)s."
IN_THE_CLEAR = (
    "Email to %(host)s could be read on its way. Choose STARTTLS, or TLS from the "
    "start."
)
HINTS: dict[Stage, str] = {
    "connected": (
        "Check the name, port, and encryption: usually port 587 with STARTTLS, or "
        "port 465 "
        "with TLS from the start. The name must be the one in its certificate. The log "
        "of Rigsite has details."
    ),
    "login": "Some providers need a separate login for programs.",
    "sender": "As the sender, enter the address that belongs to the login.",
    "recipient": (
        "Check the address for a typo. If the server mentions relaying or a "
        "login, enter a login first."
    ),
    "taken": "The server refused the email itself; its answer says why.",
}

# Error, what it is, what may help; the first that fits.
PROBLEMS = (
    (
        TimeoutError,
        "%(host)s didn't answer within %(seconds)s seconds.",
        "Try again later: the server may be busy.",
    ),
    (
        smtplib.SMTPAuthenticationError,
        "The login was not accepted. %(error)s",
        (
            "Enter the login and password again. Some providers need a separate "
            "password "
            "for programs, made on their website."
        ),
    ),
    (
        smtplib.SMTPNotSupportedError,
        "%(host)s, port %(port)s, can't do that: %(error)s",
        (
            "Without encryption many servers offer no login. Choose TLS from the start"
            " with port 465 or STARTTLS with port 587."
        ),
    ),
    (smtplib.SMTPResponseException, "%(error)s", ""),
    (
        smtplib.SMTPServerDisconnected,
        "The connection broke before the server answered.",
        "",
    ),
    (
        UnicodeError,
        "The login, password, or address has a letter that mail servers don't take.",
        "Use a password of plain letters, digits, and signs.",
    ),
    (Exception, "We couldn't send email through %(host)s: %(error)s", ""),
)
