"""One conversation with the mail server, step by step, and what came of it."""

import contextlib
import smtplib
import socket
import ssl
from dataclasses import dataclass
from email.message import EmailMessage
from typing import Literal

from django.conf import settings
from django.core.mail.utils import DNS_NAME
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from .mail import ascii_address, sender_address

Kind = Literal["sent", "later", "unknown", "refused"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """`later`: surely not delivered, worth another try. `unknown`: handed over, but no
    answer came. `refused`: for good. `words` say what happened, a server's answer in
    its own words."""

    kind: Kind
    words: str


def deliver(message: EmailMessage, *, to: str) -> Outcome:
    """Hand one mail for one address to the server that the settings name."""
    try:
        server = _connect()
    except (OSError, smtplib.SMTPException) as error:
        return Outcome("later", in_words(error))
    try:
        return _hand_over(server, message, to)
    finally:
        with contextlib.suppress(OSError, smtplib.SMTPException):
            server.quit()
        server.close()


def _connect() -> smtplib.SMTP:
    """Connected, encrypted and logged in as the settings say."""
    host, port = settings.EMAIL_HOST, settings.EMAIL_PORT
    name, seconds = DNS_NAME.get_fqdn(), settings.EMAIL_TIMEOUT
    context = ssl.create_default_context()
    server = (
        smtplib.SMTP_SSL(host, port, name, timeout=seconds, context=context)
        if settings.EMAIL_USE_SSL
        else smtplib.SMTP(host, port, name, timeout=seconds)
    )
    try:
        if settings.EMAIL_USE_TLS:
            server.starttls(context=context)
        if settings.EMAIL_HOST_USER:
            server.login(settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD)
        server.ehlo_or_helo_if_needed()
    except (OSError, smtplib.SMTPException):
        server.close()
        raise
    return server


def _hand_over(server: smtplib.SMTP, message: EmailMessage, to: str) -> Outcome:
    try:
        declined = _envelope(server, to)
    except (OSError, smtplib.SMTPException) as error:
        return Outcome("later", in_words(error))
    if declined:
        return declined
    try:
        code, reply = server.data(message.as_bytes())
    except smtplib.SMTPDataError as error:
        return _declined(error.smtp_code, error.smtp_error)
    except (OSError, smtplib.SMTPException) as error:
        return Outcome("unknown", in_words(error))
    return (
        Outcome("sent", _answered(code, reply))
        if code == 250
        else _declined(code, reply)
    )


def _envelope(server: smtplib.SMTP, to: str) -> Outcome | None:
    """From whom and to whom; None when the server takes both."""
    code, reply = server.mail(sender_address())
    if code != 250:
        # What is wrong with the sender is wrong with the set-up: it can be mended.
        return Outcome("later", _answered(code, reply))
    code, reply = server.rcpt(ascii_address(to))
    return None if code in {250, 251} else _declined(code, reply)


def _declined(code: int, reply: bytes | str) -> Outcome:
    return Outcome("refused" if code >= 500 else "later", _answered(code, reply))


def _answered(code: int, reply: bytes | str) -> str:
    text = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else reply
    words = f"{code} {' '.join(text.split())}"
    return _("The server answered: %(words)s") % {"words": words}


def in_words(error: Exception) -> str:
    """What went wrong on the way to the server's last answer, in plain words."""
    found = (words for kinds, words in PROBLEMS if isinstance(error, kinds))
    values = {
        "host": settings.EMAIL_HOST,
        "port": settings.EMAIL_PORT,
        "seconds": settings.EMAIL_TIMEOUT,
        "error": getattr(error, "strerror", None) or error,
    }
    if isinstance(error, smtplib.SMTPResponseException):
        values["error"] = _answered(error.smtp_code, error.smtp_error)
    return str(next(found)) % values


# The first that fits.
PROBLEMS = (
    (socket.gaierror, _l("The name %(host)s was not found.")),
    (
        ssl.SSLCertVerificationError,
        _l("The certificate of %(host)s does not hold: %(error)s"),
    ),
    (
        ssl.SSLError,
        _l("No encrypted connection to %(host)s, port %(port)s: %(error)s"),
    ),
    (ConnectionRefusedError, _l("Nothing answers at %(host)s, port %(port)s.")),
    (TimeoutError, _l("%(host)s did not answer within %(seconds)s seconds.")),
    (smtplib.SMTPAuthenticationError, _l("The login was not accepted. %(error)s")),
    (smtplib.SMTPResponseException, "%(error)s"),
    (
        smtplib.SMTPServerDisconnected,
        _l("The connection broke before the server had answered."),
    ),
    (Exception, _l("Mail could not be handed to %(host)s: %(error)s")),
)
