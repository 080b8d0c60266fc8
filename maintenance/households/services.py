"""Founding a household, changing it, and who belongs to it."""

from datetime import date
from typing import Any

from django.contrib.auth import get_user_model
from django.db import IntegrityError, transaction

from . import founding
from .access import require, require_founder
from .activity import note_activity
from .changes import inputs_changed
from .login_sessions import log_out_everywhere
from .models import Household, Member, OneTimeLink, Role
from .passwords import check_password
from .refusals import Refused

BEGUN_ALREADY = (
    "Someone else just set up Rigsite here. Ask them to invite you, or log in."
)


def nobody_is_here() -> bool:
    """True until somebody can log in, be it to the demo."""
    return not Member.objects.exists()


@transaction.atomic
def found_first_household(**fields: Any) -> Member:
    """The first household of this machine: of several who try, one founds it."""
    if not founding.is_open():
        raise Refused(BEGUN_ALREADY)
    member = found_household(**fields)
    transaction.on_commit(founding.drop_code)
    return member


@transaction.atomic
def found_household(
    *, name: str, timezone: str, today: date, keeper: dict[str, str], **fields
) -> Member:
    """A household and its keeper. That of the first one founds the program, too, and
    of several at once one does."""
    household = Household.objects.create(name=name, timezone=timezone, **fields)
    member = join(household, role=Role.KEEPER, today=today, **keeper)
    if not household.is_demo:
        _make_founder(member)
    note_activity(member, "founded household", name)
    return member


def _make_founder(member: Member) -> None:
    member.founder = True
    try:
        with transaction.atomic():
            member.save(update_fields=["founder"])
    except IntegrityError:
        raise Refused(BEGUN_ALREADY) from None


@transaction.atomic
def add_member(by: Member, *, today: date, role: str, **person) -> Member:
    """For the demo, whose people exist at once; others come by invitation."""
    require(by, Role.KEEPER)
    member = join(by.household, role=role, today=today, **person)
    note_activity(by, "added member", member.name)
    return member


def join(
    household: Household,
    *,
    name: str,
    username: str,
    email: str,
    password: str,
    role: str,
    today: date,
) -> Member:
    """A person becomes a member; who may let them in is the caller's to check."""
    users = get_user_model().objects
    if users.filter(username__iexact=username).exists():
        raise Refused("This login name is taken. Choose another.", field="username")
    user = users.model(username=username, email=email, first_name=name)
    check_password(password, user)
    user.set_password(password)
    user.save()
    return Member.objects.create(
        household=household, user=user, name=name, role=role, joined_on=today
    )


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
def change_role(member: Member, *, by: Member, role: str) -> None:
    _refuse_founder(member)
    change_member(member, by=by, role=role)
    _withdraw_links(member)


@transaction.atomic
def part_with(member: Member, *, by: Member, today: date) -> None:
    """A member leaves: no login, no mail; what they logged keeps their name."""
    require(by, Role.KEEPER)
    _refuse_founder(member)
    _keep_one_keeper(member)
    member.left_on = today
    member.save(update_fields=["left_on"])
    member.user.is_active = False
    member.user.save(update_fields=["is_active"])
    log_out_everywhere(member.user)
    _withdraw_links(member)
    note_activity(by, "removed member", member.name)


@transaction.atomic
def hand_on_founding(to: Member, *, by: Member | None) -> None:
    """Another keeper looks after the program from now on. `by` is None for a command
    on the machine, where the founder may be gone."""
    if by is not None:
        require_founder(by)
    if to.left_on or not to.is_keeper or to.household.is_demo:
        raise Refused(f"{to.name} isn't a keeper here. Change their role first.")
    Member.objects.filter(founder=True).exclude(pk=to.pk).update(founder=False)
    to.founder = True
    to.save(update_fields=["founder"])
    note_activity(by, "handed over as founder", f"to {to.name}")


def _withdraw_links(member: Member) -> None:
    """A link that they made, or know of, must not outlive what they may do."""
    OneTimeLink.objects.filter(household=member.household, made_by=member).delete()
    OneTimeLink.objects.filter(about=member).delete()


def _refuse_founder(member: Member) -> None:
    if member.founder:
        raise Refused(
            f"{member.name} is the founder. Hand over to another keeper first."
        )


def _keep_one_keeper(member: Member) -> None:
    others = Member.objects.for_household(member.household).present()
    if not others.exclude(pk=member.pk).filter(role=Role.KEEPER).exists():
        raise Refused("A household needs a keeper. Make someone else a keeper first.")
