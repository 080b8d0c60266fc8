"""All that the page of one item shows, in a fixed number of queries."""

from dataclasses import dataclass
from datetime import date, datetime

from django.urls import reverse

from maintenance.library.model import Procedure
from maintenance.plans.drafts import WHO
from maintenance.plans.figures import Figures, figures_of
from maintenance.plans.measures import bounds_of
from maintenance.plans.models import ItemPage, PlanItem
from maintenance.plans.papers import Paper, paper_of
from maintenance.plans.past import Time, last_times
from maintenance.plans.queries import plan_of, procedure_of
from maintenance.plans.rows import Row, row_of
from maintenance.supplies.queries import Belongings, belongings_of
from maintenance.supplies.wrenches import Verdict
from maintenance.work_sheets.forms.work_sheet import WorkSheetForm

from .figures import JobFigure, kept_for
from .kept import entries_of
from .lugs import makers_torque, wrenches_for
from .needs import Needs, needs_of
from .sheet_view import SheetView, figure_in, sheet_view
from .spots import SpotLine, spots_for


@dataclass(frozen=True, slots=True)
class DoingPage:
    item: PlanItem
    procedure: Procedure | None
    row: Row | None
    who: str
    needs: Needs
    spots: list[SpotLine]
    pages: list[ItemPage]
    sheet: SheetView
    wrenches: list[Verdict]
    times: list[Time]
    paper: Paper | None
    figures: Figures
    kept: list[JobFigure]


def doing_page(
    item: PlanItem, today: date, now: datetime, form: WorkSheetForm | None = None
) -> DoingPage:
    """`form` is a sheet that was sent and has something wrong."""
    procedure = procedure_of(item)
    standing = plan_of(item.rig).filter(item=item).first()
    figures = figures_of(item, today)
    entries = entries_of(item, now)
    form = form or blank_sheet(item, procedure, figures, entries_as_start(entries))
    bounds = bounds_of(item, procedure, figures.maker)
    has = belongings_of(item.rig.household)
    return DoingPage(
        item=item,
        procedure=procedure,
        row=row_of(standing, today) if standing else None,
        who=WHO[procedure.who] if procedure else "",
        needs=needs_of(item, procedure, has),
        spots=spots_for(item),
        pages=pages_of(item),
        sheet=sheet_view(form, entries, bounds, _places_asked(standing)),
        wrenches=wrenches_of(form, has, today),
        times=last_times(item),
        paper=paper_of(item, standing, today),
        figures=figures,
        kept=kept_for(item, procedure),
    )


def entries_as_start(entries) -> dict[str, str]:
    return {row.field: row.value for row in entries}


def blank_sheet(
    item: PlanItem,
    procedure: Procedure | None,
    figures: Figures,
    start: dict[str, str],
) -> WorkSheetForm:
    """The sheet as kept; the maker's torque stands in it until another is entered."""
    makers = makers_torque(figures.maker)
    if makers and "figure" not in start:
        value, unit = makers
        start = {**start, "figure": f"{value:f}", "unit": unit, "origin": "manual"}
    form = WorkSheetForm(item=item, procedure=procedure, initial=start)
    form.keep_at(reverse("keep_sheet", args=[item.pk]))
    return form


def wrenches_of(form: WorkSheetForm, has: Belongings, today: date) -> list[Verdict]:
    if not form.lugs:
        return []
    figure, unit = figure_in(form)
    return wrenches_for(has.torque_wrenches, today, figure, unit)


def pages_of(item: PlanItem) -> list[ItemPage]:
    """The maker's pages, each with its manual and the manual's notes."""
    return list(item.pages.select_related("manual").prefetch_related("manual__notes"))


def _places_asked(standing) -> set[str]:
    """The wheels that follow-ups are open for; empty: all of them."""
    pending = standing.pending if standing else ()
    return {place for one in pending for place in one.places or ()}
