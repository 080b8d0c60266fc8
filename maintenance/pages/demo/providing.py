"""Having the demo household at hand: loaded once, its login kept, removed on demand."""

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from maintenance.disk import put_file
from maintenance.households.models import Household, Member
from maintenance.households.refusals import Refused
from maintenance.vehicles.services import refuse_future

from .removing import remove_demo
from .story import read_story
from .telling import tell

CONSONANTS, VOWELS = "bdfgklmnprstv", "aeiou"


@dataclass(frozen=True)
class Login:
    """The members' login names, keeper first, and the password of all of them."""

    usernames: list[str]
    password: str


def fixtures() -> Path:
    return Path(settings.BASE_DIR) / "demo_fixtures"


def demo_household() -> Household | None:
    return Household.objects.filter(is_demo=True).first()


def provide_demo(
    *, as_of: date | None, now: datetime, reset: bool = False, beside: bool = False
) -> Login:
    """The demo's login, after loading the household if it is not there or to be reset.

    Refused beside a household of people, unless `beside`: both would share one
    machine's login page, and a first look would not know whose rigs it sees.
    """
    there = demo_household()
    if there is not None and not reset:
        if as_of is not None:
            raise Refused(
                "The demo household is already loaded. Add --reset to load it again "
                "for that day; changes made in it are lost."
            )
        return kept_login(there)
    if not beside:
        _refuse_company()
    with transaction.atomic():
        if there is not None:
            remove_demo(there)
        story = read_story(fixtures())
        password = new_password(
            User(username=one.username, email=one.email) for one in story.members
        )
        today = now.astimezone(ZoneInfo(story.timezone)).date()
        if as_of is not None:
            refuse_future(as_of, today)
        household = tell(story, as_of=as_of or today, password=password)
    _keep(password)
    return _login(household, password)


def _refuse_company() -> None:
    real = Household.objects.filter(is_demo=False).first()
    if real is not None:
        raise Refused(
            f"The household “{real.name}” lives here. Try the demo in a data "
            "folder of its own (RIGSITE_DATA=/path/to/folder), or add --beside "
            "to have both."
        )


# --- the login ------------------------------------------------------------------------


def login_file() -> Path:
    return Path(settings.DATA) / "demo-login.txt"


def new_password(users: Iterable[User]) -> str:
    """Four made-up words: 53 bits, and easy to type on a phone. Drawn again in the rare
    case that it looks like somebody's login, which the check of passwords refuses."""
    people = list(users)
    while True:
        password = "-".join(_word() for _n in range(4))
        try:
            for user in people:
                validate_password(password, user)
        except ValidationError:
            continue
        return password


def _word() -> str:
    return "".join(secrets.choice(CONSONANTS) + secrets.choice(VOWELS) for _n in "ab")


def kept_login(household: Household) -> Login:
    """The login as kept; a new password when the file is gone."""
    try:
        password = login_file().read_text(encoding="utf-8").strip()
    except FileNotFoundError:
        members = household.members.select_related("user")
        password = new_password(member.user for member in members)
        for member in members:
            member.user.set_password(password)
            member.user.save(update_fields=["password"])
        _keep(password)
    return _login(household, password)


def _keep(password: str) -> None:
    """Beside the data, for this user of the machine alone."""
    put_file(login_file(), f"{password}\n".encode())


def _login(household: Household, password: str) -> Login:
    members = Member.objects.for_household(household).present().order_by("pk")
    names = members.values_list("user__username", flat=True)
    return Login(list(names), password)
