"""What a rig has, the plan proposed for it, and the page of one item."""

from functools import partial
from itertools import groupby

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import change_rig

from . import services
from .access import get_item
from .forms import BaselineForm, DeferForm, DropForm, EquipmentForm, ProposalForm
from .models import PlanItem
from .procedures import load_library
from .queries import meter_of, plan_of, proposals_for
from .rows import row_of
from .rules import rules_in_words


@member_required(Role.KEEPER)
def rig_equipment(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    form = EquipmentForm(request.POST or None, rig=rig, library=load_library())
    return form_page(
        request,
        form,
        heading=_("What %(rig)s has") % {"rig": rig},
        intro=_("The plan is proposed from this. What is usual is ticked already."),
        submit=_("Next: the plan"),
        back=reverse("rig", args=[pk]),
        save=lambda **_data: change_rig(
            rig, by=request.member, today=request.today, equipment=form.chosen()
        ),
        go_on=reverse("propose_plan", args=[pk]),
    )


@member_required(Role.KEEPER)
def propose_plan(request: HouseholdRequest, pk: int) -> HttpResponse:
    """What the library proposes for the rig and is not on its plan yet."""
    rig = get_rig(request, pk)
    proposals = proposals_for(rig)
    keys = [p.procedure.key for p in proposals]
    form = ProposalForm(
        request.POST or None, proposals=proposals, initial={"keys": keys}
    )
    systems = load_library().systems
    groups = [
        (systems[system].title, list(rows))
        for system, rows in groupby(proposals, lambda p: p.procedure.system)
    ]
    return form_page(
        request,
        form,
        heading=_("A plan for %(rig)s") % {"rig": rig},
        template="plans/propose.html",
        groups=groups,
        chosen=request.POST.getlist("keys") if form.is_bound else keys,
        back=reverse("rig", args=[pk]),
        save=partial(services.take_on, rig, by=request.member, today=request.today),
        done=_("Taken on. Now tell what was done before, where you know it."),
    )


@member_required()
def item(request: HouseholdRequest, pk: int) -> HttpResponse:
    """One item: cautions first, then why, steps, and what was done before."""
    found = get_item(request, pk)
    standing = plan_of(found.rig).filter(item=found).first()
    done = found.completions.filter(withdrawn=False).order_by("-on", "-pk")
    context = {
        "item": found,
        "row": row_of(standing, request.today) if standing else None,
        "procedure": load_library().procedures.get(found.key),
        "done": done.prefetch_related("record_lines__record")[:3],
        "rules": rules_in_words(found),
    }
    return render(request, "plans/item.html", context)


def _item_url(item: PlanItem) -> str:
    return reverse("item", args=[item.pk])


def _unit(item: PlanItem) -> tuple[str, str]:
    meter = meter_of(item)
    return (meter.kind, meter.unit) if meter else ("", "")


@member_required(Role.CREW)
def defer(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    _kind, unit = _unit(found)
    return form_page(
        request,
        DeferForm(request.POST or None, item=found, unit=unit),
        heading=_("Put off: %(item)s") % {"item": found},
        intro=_("Its standing stays, and says until when and why it is put off."),
        back=_item_url(found),
        save=partial(services.defer, found, by=request.member, today=request.today),
    )


@member_required(Role.KEEPER)
def state_baseline(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    kind, unit = _unit(found)
    form = BaselineForm(request.POST or None, meter=kind, unit=unit)

    def save(on, value=None):
        values = {kind: value} if value is not None else {}
        return services.state_baseline(
            found, by=request.member, today=request.today, on=on, values=values
        )

    return form_page(
        request,
        form,
        heading=_("Done before: %(item)s") % {"item": found},
        back=_item_url(found),
        save=save,
    )


@member_required(Role.KEEPER)
def drop_item(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    return form_page(
        request,
        DropForm(request.POST or None),
        heading=_("Take off the plan: %(item)s") % {"item": found},
        intro=_("Its history stays, and it can be taken on again."),
        back=_item_url(found),
        go_on=_rig_url(found.rig),
        save=partial(services.drop_item, found, by=request.member, today=request.today),
    )


def _rig_url(rig: Rig) -> str:
    return reverse("rig", args=[rig.pk])
