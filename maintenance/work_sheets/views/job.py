"""The page of one item, where its work is done step by step, and its work sheet."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.plans.access import get_item, get_item_and_standing
from maintenance.plans.measures import bounds_of
from maintenance.plans.models import PlanItem
from maintenance.plans.queries import maker_of, procedure_of
from maintenance.supplies.queries import Belongings
from maintenance.vehicles.services import tell_dual_nuts
from maintenance.work_sheets import job_page as page
from maintenance.work_sheets import kept as sheet
from maintenance.work_sheets import sheet_view
from maintenance.work_sheets.forms.work_sheet import WorkSheetForm
from maintenance.work_sheets.nuts import refuse_unchecked


@member_required()
def item(request: HouseholdRequest, pk: int) -> HttpResponse:
    """One item: cautions first, then why, what it takes, and the sheet to work by."""
    return _shown(request, _page(request, pk))


def _page(
    request: HouseholdRequest, pk: int, form: WorkSheetForm | None = None
) -> page.DoingPage:
    one = get_item_and_standing(request, pk)
    return page.doing_page(*one, request.today, timezone.now(), form)


def _shown(request: HouseholdRequest, found: page.DoingPage) -> HttpResponse:
    may_fill = request.member.may_log and not found.item.dropped_on
    context = {"page": found, "item": found.item, "may_fill": may_fill}
    return render(request, "work_sheets/item.html", context)


@require_POST
@member_required(Role.CREW)
def keep_sheet(request: HouseholdRequest, pk: int) -> HttpResponse:
    """One field of the sheet as soon as it changes, or all of it by its buttons."""
    found, now = get_item(request, pk), timezone.now()
    start = sheet.kept_of(found, now)
    form = WorkSheetForm(
        request.POST, item=found, procedure=procedure_of(found), initial=start
    )
    form.keep_at(reverse("keep_sheet", args=[pk]))
    if request.headers.get("HX-Request"):
        return _keep_one(request, found, form)
    if not form.is_valid():
        return _shown(request, _page(request, pk, form))
    sheet.keep_all(
        found,
        by=request.member,
        now=now,
        given=form.kept(),
        shown=request.POST.getlist("shown"),
        fields=form.fields,
    )
    if nuts := request.POST.get("dual_nuts"):
        tell_dual_nuts(found.rig, by=request.member, nuts=nuts)
        return redirect(f"{reverse('item', args=[pk])}#wheels")
    if "record" in request.POST:
        return _to_record(request, found, form)
    messages.success(request, "Saved for seven days, until you record it.")
    return redirect(f"{reverse('item', args=[pk])}#sheet")


CHECKED = "checked"  # record the sets of nuts that were checked, the others later


def _to_record(
    request: HouseholdRequest, found: PlanItem, form: WorkSheetForm
) -> HttpResponse:
    if form.lugs and request.POST["record"] != CHECKED:
        shown = _page(request, found.pk, form)
        refuse_unchecked(form, shown.nuts, shown.duals)
        if form.errors:
            return _shown(request, shown)
    return redirect(f"{reverse('record_work', args=[found.rig_id])}?item={found.pk}")


def _keep_one(
    request: HouseholdRequest, found: PlanItem, form: WorkSheetForm
) -> HttpResponse:
    name, now = request.POST.get("field", ""), timezone.now()
    if name not in form.fields:
        raise Http404
    try:
        sheet.keep(found, by=request.member, now=now, field=name, value=form.one(name))
    except ValidationError as error:
        wrong = {"name": name, "errors": error.messages}
        return render(request, "work_sheets/_said_wrong.html", wrong)
    entries = sheet.entries_of(found, now)
    if name in {"figure", "unit"}:
        has = Belongings(request.member.household)
        wrenches = page.wrenches_of(form, has, request.today)
        judged = {"wrenches": wrenches, "form": form, "item": found}
        return render(request, "work_sheets/_wrenches.html", judged)
    context = {
        "progress": sheet_view.progress_words(form, entries),
        "kept": sheet_view.kept_words(entries),
        "nuts": page.nuts_of(found, form, entries),
        "cell": _cell(form, name, found),
    }
    return render(request, "work_sheets/_kept.html", context)


def _cell(form: WorkSheetForm, name: str, found: PlanItem) -> sheet_view.Cell | None:
    """What is to be said of a measured value; None for a tick or a note."""
    asked = next((one for one in form.asked if one.field == name), None)
    if asked is None:
        return None
    bounds = bounds_of(found, form.procedure, maker_of(found))
    return sheet_view.cell_of(form, asked, bounds)
