"""Who may see and change what. Every guard of the program rests on this file.

A stranger is told that the thing does not exist (404); a member whose role does not
reach is told so (403).
"""

import re
from collections.abc import Callable
from datetime import date
from functools import wraps
from typing import Any, TypeVar

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.db.models import Model, QuerySet
from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect

from maintenance.ui.forms import LONGEST_ID

from .models import Member, Role

RANK = {Role.VIEWER: 0, Role.CREW: 1, Role.KEEPER: 2}
View = Callable[..., HttpResponseBase]
M = TypeVar("M", bound=Model)


class HouseholdRequest(HttpRequest):
    """A request behind `member_required`: the middleware put these there."""

    member: Member
    today: date


class NotAllowed(PermissionDenied):
    """A member's role does not reach; the text is fit for a user."""


def member_of(request: HttpRequest) -> Member | None:
    """The member behind a request, or None (not logged in, left, never joined)."""
    if not request.user.is_authenticated:
        return None
    return (
        Member.objects.present()
        .select_related("household", "user")
        .filter(user=request.user)
        .first()
    )


def require(member: Member, role: Role) -> None:
    """Raise NotAllowed unless the member's role reaches `role`."""
    if RANK[Role(member.role)] < RANK[role]:
        raise NotAllowed(
            f"Your role is {member.role}. This needs the role {role.value}. "
            "Ask a keeper."
        )


def require_founder(member: Member) -> None:
    """Raise NotAllowed unless this member looks after the whole program."""
    if not member.founder:
        raise NotAllowed("Only the founder can do this.")


def founder_required(view: View) -> View:
    """Guard a view of the whole program, which may serve several households."""

    @wraps(view)
    def guarded(request: HouseholdRequest, *args: Any, **kwargs: Any) -> Any:
        require_founder(request.member)
        return view(request, *args, **kwargs)

    return member_required(Role.KEEPER)(guarded)


def member_required(role: Role = Role.VIEWER) -> Callable[[View], View]:
    """Guard a view: logged in, a present member, and of at least this role."""

    def decorate(view: View) -> View:
        @wraps(view)
        @login_required
        def guarded(
            request: HttpRequest, *args: Any, **kwargs: Any
        ) -> HttpResponseBase:
            member = getattr(request, "member", None)
            if member is None:
                return redirect("no_household")
            require(member, role)
            return view(request, *args, **kwargs)

        return guarded

    return decorate


def row_id(text: str) -> int | None:
    """The number of a row as an address or a form gives it; None for what is none, such
    as digits of another script or more of them than a number of the database has."""
    return int(text) if re.fullmatch(f"[0-9]{{1,{LONGEST_ID}}}", text) else None


def get_or_404(rows: "QuerySet[M]", **lookup: Any) -> M:
    """One row of an already scoped query, or 404 as for what does not exist."""
    found = rows.filter(**lookup).first()
    if found is None:
        raise Http404
    return found
