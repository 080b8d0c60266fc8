"""A real SMTP server on loopback that keeps what it was given, and can misbehave."""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.servers import free_port

CUT = "cut"


@dataclass
class MailServer:
    """`messages` is what was accepted. `answers` are given to the next messages in
    turn: a reply such as "451 Try later", or CUT, which takes the message and closes
    the connection without a word, so that the sender cannot know the outcome.
    `senders` and `addresses` are answers to the next senders and recipients."""

    port: int
    messages: list[EmailMessage] = field(default_factory=list)
    recipients: list[list[str]] = field(default_factory=list)
    answers: list[str] = field(default_factory=list)
    senders: list[str] = field(default_factory=list)
    addresses: list[str] = field(default_factory=list)

    async def handle_MAIL(  # noqa: N802  (the library's name)
        self,
        server: SMTP,
        session: Session,
        envelope: Envelope,
        address: str,
        options: list[str],
    ) -> str:
        answer = self.senders.pop(0) if self.senders else "250 OK"
        if answer == "250 OK":
            envelope.mail_from = address
            envelope.mail_options.extend(options)
        return answer

    async def handle_RCPT(  # noqa: N802  (the library's name)
        self,
        server: SMTP,
        session: Session,
        envelope: Envelope,
        address: str,
        options: list[str],
    ) -> str:
        answer = self.addresses.pop(0) if self.addresses else "250 OK"
        if answer == "250 OK":
            envelope.rcpt_tos.append(address)
            envelope.rcpt_options.extend(options)
        return answer

    async def handle_DATA(  # noqa: N802  (the library's name)
        self, server: SMTP, session: Session, envelope: Envelope
    ) -> str:
        answer = self.answers.pop(0) if self.answers else "250 OK"
        if answer in (CUT, "250 OK"):
            content = envelope.content or b""
            raw = content if isinstance(content, bytes) else content.encode()
            self.messages.append(message_from_bytes(raw, policy=policy.default))
            self.recipients.append(envelope.rcpt_tos)
        if answer == CUT and server.transport:
            server.transport.close()
        return answer


@contextlib.contextmanager
def mail_server(**options: Any) -> Iterator[MailServer]:
    """`options` are the library's: `ssl_context` for TLS from the start, `tls_context`
    for STARTTLS, `authenticator` for logins."""
    server = MailServer(free_port())
    controller = Controller(server, hostname="127.0.0.1", port=server.port, **options)
    controller.start()
    try:
        yield server
    finally:
        controller.stop()
