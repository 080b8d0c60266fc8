"""Signed links by which a mail is answered without logging in. Each serves one purpose
for one person and one item, or one question, for some weeks, once."""

import hashlib
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from django.conf import settings
from django.core import signing
from django.urls import reverse

from maintenance.households.models import Member
from maintenance.plans.models import PlanItem
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig
from maintenance.vehicles.parked import parked_rigs

from .models import AnsweredLink, StayQuestion

Purpose = Literal["reading", "done", "later", "not_towed", "parked"]
GOOD_FOR = timedelta(days=30)


class DeadLink(Exception):
    """Why a link does nothing, and what to do; fit for a user. `used` is what it did
    when it was used."""

    def __init__(
        self,
        heading: str,
        text: str,
        *,
        status: int = 410,
        used: AnsweredLink | None = None,
    ) -> None:
        super().__init__(heading)
        self.heading, self.text, self.status, self.used = heading, text, status, used


@dataclass(frozen=True, slots=True)
class AnswerLink:
    """What a link's token says; `mail` is the number of the mail that carried it,
    `about` that of the item, for `parked` that of the question."""

    purpose: Purpose
    mail: int
    member: int
    about: int
    until: date

    @property
    def token(self) -> str:
        parts = (self.mail, self.member, self.about, self.until.toordinal())
        return _signer(self.purpose).sign(".".join(map(str, parts)))

    @property
    def key(self) -> str:
        text = f"{self.purpose}/{self.token}"
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def url(self) -> str:
        """Nothing without a public address: off this machine the link would be dead."""
        if not settings.PUBLIC_URL:
            return ""
        path = reverse("answer", args=[self.purpose, self.token])
        return settings.PUBLIC_URL + path


@dataclass(frozen=True, slots=True)
class AnswerRequest:
    """A link that may be used, with the person and the item behind it."""

    link: AnswerLink
    member: Member
    item: PlanItem


@dataclass(frozen=True, slots=True)
class ParkedRequest:
    """A link that may be used, with the person and the question behind it."""

    link: AnswerLink
    member: Member
    rig: Rig
    since: date


def _signer(purpose: Purpose) -> signing.Signer:
    return signing.Signer(salt=f"reminders.answer.{purpose}")


def read_link(purpose: Purpose, token: str) -> AnswerLink:
    try:
        numbers = [int(n) for n in _signer(purpose).unsign(token).split(".")]
        mail, member, about, until = numbers
        return AnswerLink(purpose, mail, member, about, date.fromordinal(until))
    except (signing.BadSignature, ValueError):
        raise DeadLink(
            "This link doesn't work",
            "Part of it is missing or changed. Copy the whole link from the email.",
            status=404,
        ) from None


def open_link(link: AnswerLink) -> AnswerRequest | ParkedRequest:
    """Raises DeadLink where the link leads nowhere, or nowhere any more."""
    member = (
        Member.objects.present()
        .select_related("household", "user")
        .filter(pk=link.member)
        .first()
    )
    if member is None:
        raise DeadLink(
            "This link is no longer yours",
            "It was sent to someone who has left the household.",
        )
    refuse_used(link)
    if link.purpose != "later" and not member.may_log:
        raise DeadLink(
            "This link is no longer yours",
            "You can only view now. A keeper of the household can change that.",
        )
    if member.household.today() > link.until:
        raise DeadLink(
            "This link has expired",
            (
                f"It worked until {day_words(link.until)}. Log in, or use the links "
                "in a newer email."
            ),
        )
    if link.purpose == "parked":
        return _parked(link, member)
    return AnswerRequest(link, member, _item(link, member))


def refuse_used(link: AnswerLink) -> None:
    used = AnsweredLink.objects.filter(key=link.key).first()
    if used is not None:
        raise DeadLink(
            "This link has been used",
            "Each link works once. Log in to change what you saved.",
            used=used,
        )


def _parked(link: AnswerLink, member: Member) -> ParkedRequest:
    rows = StayQuestion.objects.filter(pk=link.about, member=member, stay=None)
    rig = next((row.rig for row in rows.select_related("rig__household")), None)
    if rig is None or rig.household_id != member.household_id:
        raise DeadLink("This link leads nowhere", "Log in to look at your rigs.")
    quiet = parked_rigs(member.household, member.household.today())
    since = next((one.since for one in quiet if one.rig == rig), None)
    if since is None:
        raise DeadLink(
            f"{rig} isn't asked about anymore",
            "It's in storage, in use, or sold now. Log in to change that.",
        )
    return ParkedRequest(link, member, rig, since)


def _item(link: AnswerLink, member: Member) -> PlanItem:
    found = PlanItem.objects.select_related("rig__household").filter(pk=link.about)
    item = found.first()
    if item is None or item.rig.household_id != member.household_id:
        raise DeadLink(
            "This link leads nowhere",
            "Its job isn't on your household's plan. Log in to look.",
        )
    if item.rig.sold_on is not None:
        raise DeadLink(
            f"{item.rig} is sold",
            (
                "You can't add records to a sold rig. If it's still yours, log in and "
                "undo the sale on its page."
            ),
        )
    if item.dropped_on is not None:
        raise DeadLink(
            f"“{item}” is no longer on the plan",
            "To record this work anyway, log in and open the rig's page.",
        )
    return item
