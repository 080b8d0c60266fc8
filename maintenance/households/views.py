"""First run, login, the household and its members."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from maintenance.ui import theme
from maintenance.ui.going_back import way_back
from maintenance.ui.words import season_words

from . import founding, services
from .access import HouseholdRequest, member_required
from .climate import PRESETS, set_climate, set_seasons
from .climate_forms import ClimateForm, SeasonsForm, seasons_start
from .form_page import form_page, saved
from .forms import FirstRunForm, HouseholdForm, LoginForm, MyselfForm
from .member_views import BACKEND, CLEAR
from .models import Household, Member, Role


class HouseholdLogin(LoginView):
    template_name = "households/login.html"
    authentication_form = LoginForm
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args, **kwargs) -> HttpResponse:
        if services.nobody_is_here():
            return redirect("first_run")
        return super().get(request, *args, **kwargs)

    def get_context_data(self, **kwargs) -> dict:
        first_run = founding.is_open() and _may_found(self.request)
        return super().get_context_data(first_run=first_run, **kwargs)


class HouseholdLogout(LogoutView):
    """The next person at this browser finds no page of this one's."""

    def post(self, request: HttpRequest, *args, **kwargs) -> HttpResponse:
        answer = super().post(request, *args, **kwargs)
        answer["Clear-Site-Data"] = CLEAR
        return answer


@require_POST
@member_required()
def set_theme(request: HouseholdRequest) -> HttpResponse:
    """Day, night or by the system, kept in this browser alone: a page then comes in its
    colors at once."""
    answer = redirect(way_back(request, reverse("due")))
    chosen = request.POST.get("theme", "")
    if chosen in theme.THEMES:
        answer.set_cookie(
            theme.COOKIE,
            chosen,
            max_age=theme.KEPT,
            httponly=True,
            samesite="Lax",
            secure=request.is_secure(),
        )
    else:
        answer.delete_cookie(theme.COOKIE)
    return answer


def _may_found(request: HttpRequest) -> bool:
    """Who sits at the machine may, and who has the code that it shows."""
    code = request.GET.get("code") or request.POST.get("code", "")
    at_it: bool = getattr(request, "from_this_machine", False)
    return at_it or founding.is_the_code(code)


@never_cache
def first_run(request: HouseholdRequest) -> HttpResponse:
    """Founds the household and makes its keeper; closed for ever after that."""
    if not founding.is_open():
        return redirect("due")
    if not _may_found(request):
        return render(request, "households/closed.html", status=403)
    form = FirstRunForm(request.POST or None)
    found = partial(services.found_first_household, today=request.today)
    if form.is_valid() and (member := saved(form, found, **form.founding())):
        login(request, member.user, BACKEND)
        messages.success(request, "Welcome. Next: add your first rig.")
        return redirect("add_rig")
    return render(request, "households/first_run.html", {"form": form})


def no_household(request: HttpRequest) -> HttpResponse:
    """For a person who can log in but belongs to no household (any more)."""
    return render(request, "households/none.html", status=403)


@member_required()
def household(request: HouseholdRequest) -> HttpResponse:
    home = request.member.household
    members = Member.objects.for_household(home).present().select_related("user")
    lately = home.activity.select_related("member")[:20]
    open_links = home.one_time_links.filter(expires_at__gt=timezone.now())
    links = open_links.order_by("pk") if request.member.is_keeper else []
    context = {"home": home, "members": members, "activity": lately, "links": links}
    return render(request, "households/household.html", context)


@member_required(Role.KEEPER)
def change_household(request: HouseholdRequest) -> HttpResponse:
    home = request.member.household
    return form_page(
        request,
        HouseholdForm(request.POST or None, instance=home),
        changes=home,
        now=lambda: HouseholdForm(instance=Household.objects.get(pk=home.pk)),
        heading="Household settings",
        intro=f"Season dates decide when spring and {season_words('autumn')} jobs are "
        "due.",
        back=reverse("household"),
        save=lambda **_fields: services.change_household(home, by=request.member),
        done="Saved. What's due was updated.",
    )


@member_required(Role.KEEPER)
def seasons(request: HouseholdRequest) -> HttpResponse:
    """By frost or by rain; `?like=` begins with one of the presets."""
    home = request.member.household

    def form_of(one: Household, like: str = "", data: Any = None) -> SeasonsForm:
        return SeasonsForm(data, initial=seasons_start(one, like))

    return form_page(
        request,
        form_of(home, request.GET.get("like", ""), request.POST or None),
        changes=home,
        now=lambda: form_of(Household.objects.get(pk=home.pk)),
        template="households/seasons.html",
        heading="Seasons",
        back=reverse("household"),
        save=partial(set_seasons, home, by=request.member),
        done="Saved. What's due was updated.",
        presets=[(name, words) for name, (words, *_rest) in PRESETS.items()],
    )


@member_required(Role.KEEPER)
def climate(request: HouseholdRequest) -> HttpResponse:
    home = request.member.household
    form = ClimateForm(request.POST or None, household=home)
    return form_page(
        request,
        form,
        changes=home,
        now=lambda: ClimateForm(household=Household.objects.get(pk=home.pk)),
        heading="How cold it gets",
        intro=(
            "Where your rigs are parked. New storage starts with these. Leave "
            "blank what you don't know."
        ),
        back=reverse("household"),
        save=lambda **_fields: set_climate(
            home, by=request.member, months=list(form.months())
        ),
    )


@member_required()
def myself(request: HouseholdRequest) -> HttpResponse:
    me = request.member
    return form_page(
        request,
        MyselfForm(request.POST or None, instance=me),
        changes=me,
        now=lambda: MyselfForm(instance=Member.objects.get(pk=me.pk)),
        heading="Your reminders",
        intro=("One email a day at most, at your hour. Safety comes right away."),
        back=reverse("household"),
        save=partial(services.change_member, me, by=me),
    )
