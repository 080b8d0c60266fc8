"""A test mail to oneself, so that nobody has to wait for the next reminder."""

from dataclasses import dataclass
from datetime import datetime
from secrets import token_hex

from maintenance.core.notices import message_id
from maintenance.households.access import require_founder
from maintenance.households.models import Member
from maintenance.households.refusals import Refused

from . import mail, smtp
from .mail_server import MailServer, SetUpBroken, mail_server
from .smtp_words import STAGES


@dataclass(frozen=True, slots=True)
class Shown:
    """A step as the page shows it; `state` is done, failed or not reached."""

    title: str
    state: str
    words: str = ""
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Tried:
    to: str
    outcome: smtp.Outcome
    steps: list[Shown]


def send_test_mail(member: Member, *, now: datetime) -> Tried:
    """How far it came, and the server's words. Nothing is stored: it is no reminder. It
    goes to the founder's own address and nowhere else."""
    require_founder(member)
    server, to = _server(), member.user.email
    if not to:
        raise Refused(
            "We don't have your address. Enter it under Household, Your reminders."
        )
    words = "This is your test email. Reminders will reach you."
    message = mail.build(
        to=mail.address_of(member, to),
        subject=f"Test email from {member.household}",
        text=f"{words}\n",
        html=f"<!doctype html><p>{words}</p>",
        message_id=message_id(token_hex(16), now, mail.sender_domain()),
        at=now,
    )
    steps: list[smtp.Step] = []
    outcome = smtp.deliver(message, to=to, server=server, steps=steps)
    return Tried(to, outcome, _shown(server, steps))


def _server() -> MailServer:
    try:
        server = mail_server()
    except SetUpBroken as broken:
        raise Refused(str(broken)) from broken
    if server is None:
        raise Refused(
            "There's no mail server to test. Email is kept on this page until one "
            "is set up."
        )
    return server


def _shown(server: MailServer, steps: list[smtp.Step]) -> list[Shown]:
    """Every step of this set-up, also those that were not reached."""
    went = {step.stage: step for step in steps}
    left_out = {"login": not server.user}
    shown = []
    for stage, title in STAGES.items():
        step = went.get(stage)
        if step is not None:
            state = "done" if step.went_well else "failed"
            shown.append(Shown(str(title), state, step.words, step.hint))
        elif not left_out.get(stage):
            shown.append(Shown(str(title), "not reached"))
    return shown
