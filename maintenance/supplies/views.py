"""The list of tools and supplies, and changing it."""

from functools import partial

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.ui.going_back import way_back

from . import services
from .access import get_supply, get_tool
from .forms import BuyForm, SupplyForm, ToolForm
from .models import ToolKind
from .queries import Belongings
from .stock import stock_words
from .wrenches import calibration_words, range_words

HEADINGS = {
    ToolKind.TORQUE_WRENCH: "Add a torque wrench",
    ToolKind.SOCKET: "Add a socket",
    ToolKind.OTHER: "Add a tool",
}


@member_required()
def supplies(request: HouseholdRequest) -> HttpResponse:
    has = Belongings(request.member.household)
    context = {
        "has": has,
        "wrenches": [
            (tool, range_words(tool), *calibration_words(tool, request.today))
            for tool in has.torque_wrenches
        ],
        "stock": [(supply, stock_words(supply)) for supply in has.supplies],
    }
    return render(request, "supplies/supplies.html", context)


def _list_url() -> str:
    return reverse("supplies")


@member_required(Role.CREW)
def add_tool(request: HouseholdRequest, kind: str) -> HttpResponse:
    if kind not in ToolKind.values:
        raise Http404
    initial = {"name": request.GET.get("name", "")}
    return form_page(
        request,
        ToolForm(request.POST or None, kind=kind, initial=initial),
        heading=HEADINGS[ToolKind(kind)],
        back=way_back(request, _list_url()),
        save=partial(
            services.add_tool,
            request.member.household,
            by=request.member,
            today=request.today,
            kind=kind,
        ),
        done="Added to the list.",
    )


@member_required(Role.CREW)
def change_tool(request: HouseholdRequest, pk: int) -> HttpResponse:
    tool = get_tool(request, pk)
    return form_page(
        request,
        ToolForm(request.POST or None, kind=tool.kind, tool=tool),
        changes=tool,
        now=lambda: ToolForm(kind=tool.kind, tool=get_tool(request, pk)),
        heading=str(tool),
        template="supplies/change.html",
        remove_url=reverse("remove_tool", args=[pk]),
        back=way_back(request, _list_url()),
        save=partial(
            services.change_tool,
            get_tool(request, pk),
            by=request.member,
            today=request.today,
        ),
    )


@require_POST
@member_required(Role.CREW)
def remove_tool(request: HouseholdRequest, pk: int) -> HttpResponse:
    tool = get_tool(request, pk)
    services.remove_tool(tool, by=request.member)
    messages.success(request, f"“{tool}” was removed.")
    return redirect("supplies")


@member_required(Role.CREW)
def add_supply(request: HouseholdRequest) -> HttpResponse:
    initial = {"name": request.GET.get("name", "")}
    return form_page(
        request,
        SupplyForm(request.POST or None, initial=initial),
        heading="Add a supply",
        back=way_back(request, _list_url()),
        save=partial(services.add_supply, request.member.household, by=request.member),
        done="Added to the list.",
    )


@member_required(Role.CREW)
def change_supply(request: HouseholdRequest, pk: int) -> HttpResponse:
    supply = get_supply(request, pk)
    return form_page(
        request,
        SupplyForm(request.POST or None, supply=supply),
        changes=supply,
        now=lambda: SupplyForm(supply=get_supply(request, pk)),
        heading=str(supply),
        template="supplies/change.html",
        remove_url=reverse("remove_supply", args=[pk]),
        back=way_back(request, _list_url()),
        save=partial(
            services.change_supply, get_supply(request, pk), by=request.member
        ),
    )


@member_required(Role.CREW)
def buy_supply(request: HouseholdRequest, pk: int) -> HttpResponse:
    supply = get_supply(request, pk)
    return form_page(
        request,
        BuyForm(request.POST or None),
        heading=f"Add stock: {supply}",
        intro=f"Now: {stock_words(supply)}. Counted in {supply.get_unit_display()}.",
        back=way_back(request, _list_url()),
        save=partial(services.buy, supply, by=request.member),
        done="Stock added.",
    )


@require_POST
@member_required(Role.CREW)
def remove_supply(request: HouseholdRequest, pk: int) -> HttpResponse:
    supply = get_supply(request, pk)
    services.remove_supply(supply, by=request.member)
    messages.success(request, f"“{supply}” was removed.")
    return redirect("supplies")
