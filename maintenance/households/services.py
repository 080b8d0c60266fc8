"""Founding a household, changing it, and who belongs to it."""

from datetime import date
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from . import founding
from .access import require
from .activity import note_activity
from .changes import inputs_changed
from .models import Household, Member, Role
from .refusals import Refused


def nobody_is_here() -> bool:
    """True until somebody can log in, be it to the demo."""
    return not Member.objects.exists()


@transaction.atomic
def found_first_household(**fields: Any) -> Member:
    """The first household of this machine: of several who try, one founds it."""
    founding.wait_for_turn()
    if not founding.is_open():
        raise Refused("Somebody else has just begun here. Ask them to add you.")
    member = found_household(**fields)
    transaction.on_commit(founding.drop_code)
    return member


@transaction.atomic
def found_household(
    *, name: str, timezone: str, today: date, keeper: dict[str, str], **fields
) -> Member:
    """A household and its keeper."""
    household = Household.objects.create(name=name, timezone=timezone, **fields)
    member = _add(household, role=Role.KEEPER, joined_on=today, **keeper)
    note_activity(member, "founded household", name)
    return member


@transaction.atomic
def add_member(by: Member, *, today: date, role: str, **person) -> Member:
    """A further member, with a first password that the keeper passes on."""
    require(by, Role.KEEPER)
    member = _add(by.household, role=role, joined_on=today, **person)
    note_activity(by, "added member", member.name)
    return member


def _add(
    household: Household,
    *,
    name: str,
    username: str,
    email: str,
    password: str,
    role: str,
    joined_on: date,
) -> Member:
    users = get_user_model().objects
    if users.filter(username__iexact=username).exists():
        raise Refused("This login name is taken.", field="username")
    user = users.model(username=username, email=email, first_name=name)
    _check_password(password, user)
    user.set_password(password)
    user.save()
    return Member.objects.create(
        household=household, user=user, name=name, role=role, joined_on=joined_on
    )


def _check_password(password: str, user: User) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise Refused(" ".join(error.messages), field="password") from None


@transaction.atomic
def change_household(household: Household, *, by: Member) -> None:
    """Save changed settings. Season dates and the horizon bear on every standing."""
    require(by, Role.KEEPER)
    household.save()
    note_activity(by, "changed household", household.name)
    inputs_changed.send(
        sender=Household, household=household, rig_ids=None, as_of=household.today()
    )


@transaction.atomic
def change_member(
    member: Member, *, by: Member, email: str | None = None, **fields
) -> None:
    """Everybody changes their own mail choices; roles are a keeper's."""
    if member.pk != by.pk or "role" in fields:
        require(by, Role.KEEPER)
    if fields.get("role", member.role) != Role.KEEPER:
        _keep_one_keeper(member)
    for name, value in fields.items():
        setattr(member, name, value)
    member.save(update_fields=list(fields))
    if email is not None:
        member.user.email = email
        member.user.save(update_fields=["email"])
    note_activity(by, "changed member", member.name)


@transaction.atomic
def part_with(member: Member, *, by: Member, today: date) -> None:
    """A member leaves: no login, no mail; what they logged keeps their name."""
    require(by, Role.KEEPER)
    _keep_one_keeper(member)
    member.left_on = today
    member.save(update_fields=["left_on"])
    member.user.is_active = False
    member.user.save(update_fields=["is_active"])
    note_activity(by, "parted with", member.name)


def _keep_one_keeper(member: Member) -> None:
    others = Member.objects.for_household(member.household).present()
    if not others.exclude(pk=member.pk).filter(role=Role.KEEPER).exists():
        raise Refused("A household needs a keeper. Name another one first.")
