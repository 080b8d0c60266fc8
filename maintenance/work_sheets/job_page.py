"""All that the page of one item shows, in a fixed number of queries."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.urls import reverse

from maintenance.library.model import Procedure
from maintenance.plans.figures import Figures, figures_of
from maintenance.plans.measures import bounds_of
from maintenance.plans.models import ItemPage, PlanItem, Standing
from maintenance.plans.papers import Paper, paper_of
from maintenance.plans.past import Time, last_times
from maintenance.plans.queries import procedure_of
from maintenance.plans.rows import Row, row_of
from maintenance.supplies.queries import Belongings
from maintenance.supplies.wrenches import Verdict
from maintenance.ui.words import WHO_WORDS, day_words
from maintenance.work_sheets.forms.work_sheet import WorkSheetForm

from .figures import JobFigure, kept_for
from .kept import entries_of
from .lugs import is_lug_work, wrenches_for
from .models import SheetEntry
from .needs import Needs, needs_of
from .nuts import NutSet, duals_left, nut_sets, nuts_words
from .road import Road, road_of
from .sheet_view import SheetView, figure_in, sheet_view
from .specified import (
    FigureSource,
    Specified,
    figure_known,
    invoice_source,
    specified_of,
)
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
    specified: Specified | None
    road: Road | None
    nuts: list[NutSet]
    nuts_rest: list[NutSet]
    nuts_words: str
    duals: str
    follows: list[tuple[str, str, str]]

    @property
    def says(self) -> dict[str, str]:
        """What each fold says while it is closed."""
        return {
            "times": " · ".join(day_words(one.on) for one in self.times)
            or "no record yet",
            "needs": needs_words(self.needs),
            "page": ", ".join(str(one) for one in self.pages) or "none yet",
            "spots": spots_words(self.spots),
            "figures": "; ".join(self.figures.counted) or "when needed",
            "sources": sources_words(self.procedure),
        }


def doing_page(
    item: PlanItem,
    standing: Standing | None,
    today: date,
    now: datetime,
    form: WorkSheetForm | None = None,
) -> DoingPage:
    """`form` is a sheet that was sent and has something wrong."""
    procedure = procedure_of(item)
    figures = figures_of(item, today)
    entries = entries_of(item, now)
    invoice = invoice_source(item) if is_lug_work(procedure) else None
    start = entries_as_start(entries)
    form = form or blank_sheet(item, procedure, figures, start, invoice)
    bounds = bounds_of(item, procedure, figures.maker)
    has = Belongings(item.rig.household)
    sheet = sheet_view(form, entries, bounds, _places_asked(standing))
    return DoingPage(
        item=item,
        procedure=procedure,
        row=row_of(standing, today) if standing else None,
        who=WHO_WORDS[procedure.who] if procedure else "",
        needs=needs_of(item, procedure, has),
        spots=spots_for(item),
        pages=pages_of(item),
        sheet=sheet,
        wrenches=wrenches_of(form, has, today),
        times=last_times(item),
        paper=paper_of(item, standing, today),
        figures=figures,
        kept=kept_for(item, procedure),
        specified=specified_of(form, figures.maker, invoice) if form.lugs else None,
        road=road_of(standing, today) if standing else None,
        nuts=nut_sets(sheet.rows),
        nuts_rest=nut_sets(sheet.rest),
        nuts_words=nuts_of(item, form, entries),
        duals=duals_left(sheet.rows, item.rig) if form.lugs else "",
        follows=list(outcomes_of(procedure, figures, lugs=form.lugs)),
    )


def nuts_of(item: PlanItem, form: WorkSheetForm, entries: Iterable[SheetEntry]) -> str:
    return nuts_words(item.rig, entries_as_start(entries)) if form.lugs else ""


def outcomes_of(
    procedure: Procedure | None, figures: Figures, *, lugs: bool
) -> Iterator[tuple[str, str, str]]:
    """What follows for either outcome: its mark, the outcome, and what then."""
    if lugs:
        yield "settled", "All held", NUTS_HELD
        yield "unfit", "A nut moved", NUTS_MOVED
        return
    rules = "; ".join(figures.counted)
    again = f"It comes due again: {rules}." if rules else "It won't come due again."
    yield "settled", "Done", again
    if procedure is not None:
        words = f" Unfit to travel: {procedure.unfit}" if procedure.unfit else ""
        mark = "unfit" if procedure.unfit else "fault"
        yield mark, "Something's not right", NOT_RIGHT + words


NUTS_HELD = "This re-check is finished. The next one comes after a wheel is off again."
NUTS_MOVED = (
    "Don't drive. Tighten it to the figure, stay parked, and call the shop. A "
    "shop must inspect the studs and the wheel before you drive. Then the "
    "re-check starts over."
)
NOT_RIGHT = "Record it as a fault. It stays on Not right until it's fixed."


def needs_words(needs: Needs) -> str:
    """What is missing first; else how much the job takes."""
    if needs.missing:
        return f"Not on your list: {'; '.join(needs.missing)}"
    asked = [need.asked for need in needs.tools]
    asked += [need.asked or str(need.supply) for need in needs.supplies]
    return "; ".join(asked) or "none"


def spots_words(spots: Iterable[SpotLine]) -> str:
    return ", ".join(line.spot.title for line in spots)


def sources_words(procedure: Procedure | None) -> str:
    kinds = [one.kind for one in procedure.sources] if procedure else []
    return ", ".join(dict.fromkeys(kinds))


def entries_as_start(entries) -> dict[str, str]:
    return {row.field: row.value for row in entries}


def blank_sheet(
    item: PlanItem,
    procedure: Procedure | None,
    figures: Figures,
    start: dict[str, str],
    invoice: FigureSource | None = None,
) -> WorkSheetForm:
    """The sheet as kept; the torque that is known stands in it until another is
    entered."""
    if "figure" not in start and is_lug_work(procedure):
        start = {**start, **figure_known(figures.maker, invoice)}
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
