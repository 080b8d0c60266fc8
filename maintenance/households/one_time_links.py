"""Links that work once: invitations, and a new password where the old one is lost.

What a link carries is the signed key of its row: neither a copy of the database nor an
old backup makes one, and the row's going ends it.
"""

from datetime import date, datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.db import transaction
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from .access import require
from .activity import note_activity
from .models import Member, OneTimeLink, Role
from .passwords import set_password
from .refusals import Missing, Refused
from .services import join

SALT = "households.one_time_link"
INVITES_FOR = timedelta(days=7)
RESETS_FOR = timedelta(days=1)
USED_UP = "This link was used, canceled, or is too old. Ask the sender for a new one."


@transaction.atomic
def invite(by: Member, *, name: str, role: str, now: datetime) -> OneTimeLink:
    """Whoever opens it first chooses a login name and a password of their own."""
    require(by, Role.KEEPER)
    made = OneTimeLink.objects.create(
        household=by.household,
        name=name,
        role=role,
        made_by=by,
        expires_at=now + INVITES_FOR,
    )
    note_activity(by, "invited", name)
    return made


@transaction.atomic
def offer_new_password(member: Member, *, by: Member, now: datetime) -> OneTimeLink:
    """The founder's is set by command alone: by a link, a keeper would become one."""
    require(by, Role.KEEPER)
    if member.founder:
        raise Refused(
            "Set the founder's password on the computer that runs Rigsite: "
            "manage.py reset_password {member.user.get_username()}"
        )
    OneTimeLink.objects.filter(about=member).delete()
    made = OneTimeLink.objects.create(
        household=by.household,
        about=member,
        name=member.name,
        made_by=by,
        expires_at=now + RESETS_FOR,
    )
    note_activity(by, "made a password link", f"for {member.name}")
    return made


@transaction.atomic
def withdraw_link(link: OneTimeLink, *, by: Member) -> None:
    require(by, Role.KEEPER)
    link.delete()
    note_activity(by, "canceled a link", link.name)


def url_of(link: OneTimeLink, request: HttpRequest) -> str:
    token = signing.dumps(link.key.hex, salt=SALT)
    path = reverse("use_link", args=[token])
    return (
        f"{settings.PUBLIC_URL}{path}"
        if settings.PUBLIC_URL
        else request.build_absolute_uri(path)
    )


def link_of(token: str, *, now: datetime) -> OneTimeLink:
    """The open link that a token names. Raises Missing, in words."""
    try:
        key = UUID(signing.loads(token, salt=SALT))
    except (signing.BadSignature, ValueError):
        raise Missing(USED_UP) from None
    rows = OneTimeLink.objects.filter(key=key, expires_at__gt=now)
    found = rows.select_related("household", "about__user").first()
    if found is None:
        raise Missing(USED_UP)
    return found


@transaction.atomic
def accept_invitation(link: OneTimeLink, *, today: date, **person: str) -> Member:
    _use_up(link)
    member = join(link.household, role=link.role, today=today, **person)
    note_activity(member, "joined by invitation", f"from {link.made_by.name}")
    return member


@transaction.atomic
def set_password_by(link: OneTimeLink, *, password: str) -> Member:
    member = link.about
    if member is None or member.left_on:
        raise Missing(USED_UP)
    _use_up(link)
    set_password(member, password, by=member)
    return member


def _use_up(link: OneTimeLink) -> None:
    """Of two who open it at once, one gets in."""
    rows = OneTimeLink.objects.filter(pk=link.pk, expires_at__gt=timezone.now())
    if not rows.delete()[0]:
        raise Missing(USED_UP)


def forget_expired(now: datetime) -> int:
    return OneTimeLink.objects.filter(expires_at__lt=now).delete()[0]
