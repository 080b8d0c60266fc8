"""What the work sheet of an item brings into the form of work done."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from maintenance.library.model import Procedure
from maintenance.plans.measures import (
    Bounds,
    Measured,
    bounds_of,
    limit_words,
)
from maintenance.plans.models import ItemSupply, Outcome, PlanItem
from maintenance.plans.queries import maker_of, procedure_of
from maintenance.service_records.trends import trends_today
from maintenance.supplies.queries import Belongings
from maintenance.vehicles.models import Rig
from maintenance.work_sheets.forms.measuring import MeasuresForm
from maintenance.work_sheets.forms.work_sheet import (
    HAS_MOVED,
    HELD,
    MOVED,
    lead_of,
    step_field,
)
from maintenance.work_sheets.judging import judged_outcome
from maintenance.work_sheets.kept import kept_of
from maintenance.work_sheets.lugs import is_lug_work, makers_torque, wrenches_for


@dataclass(frozen=True)
class Carried:
    """`kept` is the sheet as it stands, by its fields."""

    item: PlanItem
    procedure: Procedure | None
    kept: Mapping[str, str]

    @property
    def steps(self) -> list[tuple[str, bool]]:
        """Each step and whether it was ticked; nothing where none was."""
        steps = self.procedure.steps if self.procedure else ()
        found = [(step, step_field(step) in self.kept) for step in steps]
        return found if any(ticked for _step, ticked in found) else []

    @property
    def left_out(self) -> list[str]:
        return [step for step, ticked in self.steps if not ticked]

    @property
    def moved(self) -> list[str]:
        places = self.item.rig.places
        return [p for p in places if self.kept.get(MOVED + lead_of(p)) == HAS_MOVED]

    @cached_property
    def bounds(self) -> Bounds:
        return bounds_of(self.item, self.procedure, maker_of(self.item))

    @cached_property
    def outside(self) -> str:
        """“Tread LF 1/32 in: below the 2/32 in limit”: what is not as it must be."""
        measures = [
            Measured(
                one.measure.name,
                Decimal(self.kept[one.field]),
                one.measure.unit,
                one.place or self.kept.get(one.at, ""),
            )
            for one in self.measures_form(None).asked
            if self.kept.get(one.field)
        ]
        judged = judged_outcome(self.item, Outcome.DONE, measures)
        trends = trends_today(self.item, measures) if measures else ""
        said = [*_below_the_figure(self), judged.words, trends]
        return "; ".join(filter(None, said))

    def measures_form(self, data: Any) -> MeasuresForm:
        form = MeasuresForm(
            data,
            prefix="measured",
            initial=dict(self.kept),
            item=self.item,
            procedure=self.procedure,
            without_torque=True,  # the wheels have a form of their own
        )
        for one in form.asked:
            limits = self.bounds.at(one.measure, one.place)
            form.fields[one.field].help_text = limit_words(limits)
        return form


def carried_from(item: PlanItem, now: datetime) -> Carried:
    return Carried(item, procedure_of(item), kept_of(item, now))


def start_of_wheels(carried: Carried, today: date) -> dict[str, Any]:
    """What the form of the wheels begins with; nothing for other work."""
    if not is_lug_work(carried.procedure):
        return {}
    kept = carried.kept
    start: dict[str, Any] = {
        name: kept[name] for name in ("figure", "unit", "origin") if name in kept
    }
    makers = makers_torque(maker_of(carried.item))
    if makers and "figure" not in start:
        start |= {"figure": makers[0], "unit": makers[1], "origin": "manual"}
    for place in carried.item.rig.places:
        lead = lead_of(place)
        reached = kept.get(f"m_torque_{place}")
        found = {kept.get(MOVED + place), kept.get(MOVED + lead)}
        start |= {f"reached_{place}": reached} if reached else {}
        if HAS_MOVED in found:
            start[f"moved_{place}"] = True
        elif HELD in found:
            start[f"held_{place}"] = True
    figure = Decimal(start["figure"]) if "figure" in start else None
    return start | _wrench(carried.item, today, figure, start.get("unit", "ft·lbf"))


def _wrench(
    item: PlanItem, today: date, figure: Decimal | None, unit: str
) -> dict[str, Any]:
    """The wrench that fits, where just one of the household's does."""
    wrenches = Belongings(item.rig.household).torque_wrenches
    fitting = [one for one in wrenches_for(wrenches, today, figure, unit) if one.fits]
    return {"tool": fitting[0].tool} if len(fitting) == 1 else {}


def _below_the_figure(carried: Carried) -> Iterator[str]:
    """Wheels on which less than the specified torque was reached."""
    kept = carried.kept
    if "figure" not in kept:
        return
    for place in carried.item.rig.places:
        reached = kept.get(f"m_torque_{place}")
        if reached and Decimal(reached) < Decimal(kept["figure"]):
            yield "torque {place} {reached}: below the specified {figure}".format(
                place=place,
                reached=reached,
                figure=f"{kept['figure']} {kept.get('unit', 'ft·lbf')}",
            )


def uses_on(rig: Rig) -> list[ItemSupply]:
    """What jobs on the rig's plan use up, one row for each job and supply."""
    rows = ItemSupply.objects.filter(item__rig=rig, item__dropped_on__isnull=True)
    return list(rows.select_related("supply", "item"))
