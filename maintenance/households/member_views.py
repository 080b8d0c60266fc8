"""Who belongs to a household: invitations, roles, passwords, and where one is logged
in."""

from functools import partial

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from . import one_time_links, services
from .access import (
    HouseholdRequest,
    founder_required,
    get_or_404,
    member_required,
)
from .form_page import form_page, saved
from .login_sessions import handle_of, log_out_everywhere, sessions_of
from .member_forms import (
    ChangePasswordForm,
    HandOnForm,
    InviteForm,
    NewPassword,
    PersonFields,
    RoleForm,
)
from .models import Member, OneTimeLink, Role
from .passwords import set_password
from .refusals import Refused

BACKEND = "django.contrib.auth.backends.ModelBackend"
# What this browser keeps of pages and pictures; ticks not sent yet stay.
CLEAR = '"cache"'


def _present(request: HouseholdRequest, pk: int) -> Member:
    rows = Member.objects.for_household(request.member.household).present()
    return get_or_404(rows.select_related("user"), pk=pk)


def _link(request: HouseholdRequest, pk: int) -> OneTimeLink:
    rows = request.member.household.one_time_links
    return get_or_404(rows.filter(expires_at__gt=timezone.now()), pk=pk)


# --- others ---------------------------------------------------------------------------


@member_required(Role.KEEPER)
def invite(request: HouseholdRequest) -> HttpResponse:
    return form_page(
        request,
        InviteForm(request.POST or None),
        heading="Invite someone",
        intro="You'll get a link to send them. They choose their own password.",
        back=reverse("household"),
        save=partial(one_time_links.invite, request.member, now=timezone.now()),
        done="Send them this link.",
        go_on=lambda made: reverse("one_time_link", args=[made.pk]),
        submit="Make link",
    )


@never_cache
@member_required(Role.KEEPER)
def one_time_link(request: HouseholdRequest, pk: int) -> HttpResponse:
    link = _link(request, pk)
    context = {"link": link, "url": one_time_links.url_of(link, request)}
    return render(request, "households/one_time_link.html", context)


@require_POST
@member_required(Role.KEEPER)
def withdraw_link(request: HouseholdRequest, pk: int) -> HttpResponse:
    one_time_links.withdraw_link(_link(request, pk), by=request.member)
    messages.success(request, "Link canceled. It no longer works.")
    return redirect("household")


@require_POST
@member_required(Role.KEEPER)
def offer_new_password(request: HouseholdRequest, pk: int) -> HttpResponse:
    member = _present(request, pk)
    try:
        link = one_time_links.offer_new_password(
            member, by=request.member, now=timezone.now()
        )
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("household")
    return redirect("one_time_link", link.pk)


@member_required(Role.KEEPER)
def change_role(request: HouseholdRequest, pk: int) -> HttpResponse:
    member = _present(request, pk)
    initial = {"role": member.role}
    return form_page(
        request,
        RoleForm(request.POST or None, initial=initial),
        changes=member,
        now=lambda: RoleForm(initial={"role": _present(request, pk).role}),
        heading=f"Role of {member.name}",
        back=reverse("household"),
        save=partial(services.change_role, member, by=request.member),
    )


@require_POST
@member_required(Role.KEEPER)
def part_with(request: HouseholdRequest, pk: int) -> HttpResponse:
    member = _present(request, pk)
    try:
        services.part_with(member, by=request.member, today=request.today)
    except Refused as refusal:
        messages.error(request, refusal.text)
    else:
        messages.success(request, f"{member} has left.")
    return redirect("household")


@founder_required
def hand_on(request: HouseholdRequest) -> HttpResponse:
    return form_page(
        request,
        HandOnForm(request.POST or None, founder=request.member),
        heading="Hand over as founder",
        intro="The founder looks after Rigsite itself: its status and outgoing email.",
        back=reverse("household"),
        save=partial(services.hand_on_founding, by=request.member),
        done="Handed over.",
        submit="Hand over",
    )


# --- by a link ------------------------------------------------------------------------


@never_cache
def use_link(request: HttpRequest, token: str) -> HttpResponse:
    """Joining, or a new password; for whoever has the link."""
    link = one_time_links.link_of(token, now=timezone.now())
    if link.about_id is None:
        return _join(request, link)
    form = NewPassword(request.POST or None)
    set_by = partial(one_time_links.set_password_by, link)
    if form.is_valid() and (member := saved(form, set_by, **form.cleaned_data)):
        return _logged_in(request, member, "Your new password is set.")
    return render(request, "households/new_password.html", {"form": form, "link": link})


def _join(request: HttpRequest, link: OneTimeLink) -> HttpResponse:
    form = PersonFields(request.POST or None, initial={"name": link.name})
    today = link.household.today()
    accept = partial(one_time_links.accept_invitation, link, today=today)
    if form.is_valid() and (member := saved(form, accept, **form.cleaned_data)):
        return _logged_in(request, member, f"Welcome to {link.household}.")
    return render(request, "households/join.html", {"form": form, "link": link})


def _logged_in(request: HttpRequest, member: Member, words: str) -> HttpResponse:
    logout(request)  # who used this browser before
    login(request, member.user, BACKEND)
    messages.success(request, words)
    return redirect("due")


# --- oneself --------------------------------------------------------------------------


@never_cache
@member_required()
def change_password(request: HouseholdRequest) -> HttpResponse:
    me = request.member
    form = ChangePasswordForm(request.POST or None, request=request)
    form.is_valid()  # before the page's transaction: a try that failed has to count

    def save(*, old: str, password: str) -> None:
        set_password(me, password, by=me, keep=request.session.session_key)
        update_session_auth_hash(request, me.user)

    return form_page(
        request,
        form,
        heading="Change your password",
        intro="This logs you out everywhere else.",
        back=reverse("logins"),
        save=save,
        done="Your new password is set. Every other browser is logged out.",
    )


@never_cache
@member_required()
def logins(request: HouseholdRequest) -> HttpResponse:
    here, rows = request.session.session_key, []
    for row in sessions_of(request.member.user):
        is_here = row.session_key == here
        # This page's own row is stored after it.
        device = request.session["device"] if is_here else row.device
        one = {"row": row, "handle": handle_of(row), "here": is_here}
        rows.append(one | {"device": device or "A browser"})
    return render(request, "households/logins.html", {"rows": rows})


@require_POST
@member_required()
def end_login(request: HouseholdRequest, handle: str) -> HttpResponse:
    """One of one's own; one that has ended meanwhile is as good."""
    for row in sessions_of(request.member.user):
        if handle_of(row) == handle:
            row.delete()
    messages.success(request, "That browser is logged out.")
    return redirect("logins")


@require_POST
@member_required()
def end_logins(request: HouseholdRequest) -> HttpResponse:
    log_out_everywhere(request.member.user)
    logout(request)
    messages.success(request, "You're logged out everywhere.")
    answer = redirect("login")
    answer["Clear-Site-Data"] = CLEAR
    return answer
