"""One conversation with the mail server, step by step, and what came of it."""

import contextlib
import logging
import re
import smtplib
import ssl
from dataclasses import dataclass, field
from email.message import EmailMessage
from typing import Literal

from django.conf import settings
from django.core.mail.utils import DNS_NAME

from .mail import ascii_address, sender_address
from .mail_server import MailServer
from .smtp_words import HINTS, IN_THE_CLEAR, NO_SERVER, Stage, hint, in_words

log = logging.getLogger(__name__)
Kind = Literal["sent", "later", "unknown", "refused"]
TROUBLE = (OSError, smtplib.SMTPException, UnicodeError)


@dataclass(frozen=True, slots=True)
class Step:
    """How far the conversation came. `hint` says what may help where it failed."""

    stage: Stage
    went_well: bool
    words: str = ""
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """`later`: surely not delivered, worth another try. `unknown`: handed over, but no
    answer came. `refused`: for good; `at` is then `recipient` where it is the address
    that the server will not have. `words` say what happened, a server's answer in its
    own words."""

    kind: Kind
    words: str
    at: str = ""


@dataclass(slots=True)
class _Talk:
    """A conversation: with whom, at which step, and the steps before."""

    server: MailServer
    at: Stage = "connected"
    steps: list[Step] = field(default_factory=list)

    def did(self, words: str = "") -> None:
        self.steps.append(Step(self.at, True, words))

    def failed(self, kind: Kind, error: Exception) -> Outcome:
        words = in_words(error, self.server)
        self._note(words, error)
        return Outcome(kind, words)

    def found_none(self, error: Exception) -> Outcome:
        log.warning(
            "mail server %s, port %s: %r", self.server.host, self.server.port, error
        )
        return self._never_began(NO_SERVER)

    def would_be_read(self) -> Outcome:
        return self._never_began(IN_THE_CLEAR)

    def _never_began(self, words: str) -> Outcome:
        words %= {"host": self.server.host, "port": self.server.port}
        self.steps.append(Step(self.at, False, words, HINTS[self.at]))
        return Outcome("later", words)

    def answered(self, kind: Kind, code: int, reply: bytes | str) -> Outcome:
        words = _answered(code, reply)
        self._note(words)
        return Outcome(kind, words, self.at if kind == "refused" else "")

    def _note(self, words: str, error: Exception | None = None) -> None:
        self.steps.append(Step(self.at, False, words, hint(self.at, error)))


def deliver(
    message: EmailMessage,
    *,
    to: str,
    server: MailServer,
    steps: list[Step] | None = None,
) -> Outcome:
    """Hand one mail for one address to the server. `steps` is filled as it goes."""
    talk = _Talk(server, steps=steps if steps is not None else [])
    if server.in_the_clear:
        return talk.would_be_read()
    try:
        link = _open(server)
    except TROUBLE as error:
        return talk.found_none(error)
    try:
        return _log_in(talk, link) or _hand_over(talk, link, message, to)
    finally:
        with contextlib.suppress(*TROUBLE):
            link.quit()
        link.close()


def _open(server: MailServer) -> smtplib.SMTP:
    """Connected and encrypted as the set-up says, to what speaks as a mail server."""
    name, seconds = DNS_NAME.get_fqdn(), settings.EMAIL_TIMEOUT
    context = ssl.create_default_context()
    link: smtplib.SMTP
    if server.tls == "ssl":
        link = smtplib.SMTP_SSL(
            server.host, server.port, name, timeout=seconds, context=context
        )
    else:
        link = smtplib.SMTP(server.host, server.port, name, timeout=seconds)
    try:
        if server.tls == "starttls":
            link.starttls(context=context)
        link.ehlo_or_helo_if_needed()
    except TROUBLE:
        link.close()
        raise
    return link


def _log_in(talk: _Talk, link: smtplib.SMTP) -> Outcome | None:
    """None when it went well."""
    talk.did(_tls_words(link))
    if talk.server.user:
        talk.at = "login"
        try:
            code, reply = link.login(talk.server.user, talk.server.password)
        except TROUBLE as error:
            return talk.failed("later", error)
        talk.did(_answered(code, reply))
    return None


def _tls_words(link: smtplib.SMTP) -> str:
    socket_now = link.sock
    return socket_now.version() or "" if isinstance(socket_now, ssl.SSLSocket) else ""


def _hand_over(
    talk: _Talk, link: smtplib.SMTP, message: EmailMessage, to: str
) -> Outcome:
    try:
        declined = _envelope(talk, link, to)
    except TROUBLE as error:
        return talk.failed("later", error)
    if declined:
        return declined
    talk.at = "taken"
    try:
        code, reply = link.data(message.as_bytes())
    except smtplib.SMTPDataError as error:
        return talk.answered(_kind(error.smtp_code), error.smtp_code, error.smtp_error)
    except TROUBLE as error:
        return talk.failed("unknown", error)
    if code != 250:
        return talk.answered(_kind(code), code, reply)
    talk.did(_answered(code, reply))
    return Outcome("sent", _answered(code, reply))


def _envelope(talk: _Talk, link: smtplib.SMTP, to: str) -> Outcome | None:
    """From whom and to whom; None when the server takes both."""
    talk.at = "sender"
    code, reply = link.mail(sender_address())
    if code != 250:
        # What is wrong with the sender is wrong with the set-up: it can be mended.
        return talk.answered("later", code, reply)
    talk.did(_answered(code, reply))
    talk.at = "recipient"
    code, reply = link.rcpt(ascii_address(to))
    if code not in {250, 251}:
        return talk.answered(_kind_of_recipient(code, reply), code, reply)
    talk.did(_answered(code, reply))
    return None


def _kind(code: int) -> Kind:
    return "refused" if code >= 500 else "later"


def _kind_of_recipient(code: int, reply: bytes | str) -> Kind:
    """Whether it is the address that is wrong, for good.

    RFC 5321, 4.5.3.1.10: 552 at RCPT is to be taken as 452. RFC 3463: X.2.2 is a full
    mailbox, and X.7 is about what the server allows us to do, not about the address;
    so is 530, “authentication required” (RFC 4954).
    """
    detail = re.match(r"\s*\d\.(\d{1,3})\.(\d{1,3})\b", _text(reply))
    subject, what = detail.groups() if detail else ("", "")
    if code in {530, 552} or subject == "7" or (subject, what) == ("2", "2"):
        return "later"
    return _kind(code)


def _answered(code: int, reply: bytes | str) -> str:
    words = f"{code} {' '.join(_text(reply).split())}"
    return f"The server answered: {words}"


def _text(reply: bytes | str) -> str:
    return reply.decode("utf-8", "replace") if isinstance(reply, bytes) else reply
