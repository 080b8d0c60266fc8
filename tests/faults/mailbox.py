"""A mail server that keeps what it takes, and does each kind of harm when told to."""

import asyncio
import contextlib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from email import message_from_bytes, policy

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.servers import free_port

TAKEN = "250 OK"


@dataclass
class Mailbox:
    """`taken` is the Message-ID of each mail that the server has, in order; `bodies`
    what came under each. `at_data` and `at_recipient` are used up one by one."""

    port: int = field(default_factory=free_port)
    taken: list[str] = field(default_factory=list)
    bodies: dict[str, set[bytes]] = field(default_factory=dict)
    at_recipient: list[str] = field(default_factory=list)
    at_data: list[str] = field(default_factory=list)
    # Called once with the mail already kept, before the answer goes out.
    before_answer: Callable[[], None] | None = None
    silent: bool = False
    hold: bool = False
    controller: Controller | None = None

    async def handle_RCPT(  # noqa: N802  (the library's name)
        self,
        server: SMTP,
        session: Session,
        envelope: Envelope,
        address: str,
        options: list[str],
    ) -> str:
        if self.at_recipient:
            return self.at_recipient.pop(0)
        envelope.rcpt_tos.append(address)
        return TAKEN

    async def handle_DATA(  # noqa: N802
        self, server: SMTP, session: Session, envelope: Envelope
    ) -> str:
        answer = self.at_data.pop(0) if self.at_data else TAKEN
        if answer in (TAKEN, "cut"):
            self._keep(envelope.content)
        if answer == "cut" and isinstance(server.transport, asyncio.Transport):
            server.transport.abort()
        while self.silent or self.hold:
            await asyncio.sleep(0.05)
        if self.before_answer:
            self.before_answer()
            self.before_answer = None
        return answer

    def _keep(self, content: bytes | str | None) -> None:
        raw = content if isinstance(content, bytes) else (content or "").encode()
        key = str(message_from_bytes(raw, policy=policy.default)["Message-ID"])
        self.taken.append(key)
        self.bodies.setdefault(key, set()).add(raw)

    @property
    def doubled(self) -> dict[str, int]:
        return {key: n for key, n in Counter(self.taken).items() if n > 1}

    def start(self) -> None:
        self.controller = Controller(self, hostname="127.0.0.1", port=self.port)
        self.controller.start()

    def stop(self) -> None:
        if self.controller:
            self.controller.stop()
            self.controller = None


@contextlib.contextmanager
def mailbox() -> Iterator[Mailbox]:
    made = Mailbox()
    made.start()
    try:
        yield made
    finally:
        made.silent = made.hold = False
        made.stop()
