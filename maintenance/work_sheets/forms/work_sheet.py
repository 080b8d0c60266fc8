"""The work sheet of an item: steps to tick, values to enter, a note."""

import hashlib
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.library.model import Measure, Procedure
from maintenance.plans.figures import number
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import DUAL_PLACES, WHEEL_PLACES, DualNuts, Rig
from maintenance.work_sheets.lugs import (
    FigureOrigin,
    TorqueUnit,
    is_lug_torque,
    is_lug_work,
)

from .measuring import MeasuredField, MeasuresForm

TICK = "step_"
MOVED = "moved_"
HELD, HAS_MOVED = "held", "on"  # what a set of nuts was found to have done
LEADS = {"LRI": "LRO", "RRI": "RRO"}  # duals on one set of nuts are asked of once


def step_field(step: str) -> str:
    """The field of a step. It goes by the words: a changed step is not ticked."""
    return TICK + hashlib.sha256(step.encode()).hexdigest()[:12]


def lead_of(place: str) -> str:
    """The wheel under which a set of nuts is kept."""
    return LEADS.get(place, place)


def nut_places(rig: Rig) -> list[str]:
    """The wheels whose nuts an owner checks: duals once it is known that they have one
    nut on each stud."""
    owns = rig.dual_nuts == DualNuts.ONE
    return [place for place in rig.places if owns or place not in DUAL_PLACES]


class WorkSheetForm(MeasuresForm):
    note = forms.CharField(
        label="Notes for the record",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(
        self, *args: Any, item: PlanItem, procedure: Procedure | None, **kwargs: Any
    ) -> None:
        super().__init__(*args, item=item, procedure=procedure, **kwargs)
        self.steps = procedure.steps if procedure else ()
        self.lugs = is_lug_work(procedure)
        for step in self.steps:
            self.fields[step_field(step)] = forms.BooleanField(
                label=step, required=False
            )
        if self.lugs:
            self._add_lug_fields()

    def _add_lug_fields(self) -> None:
        self.fields |= {
            "figure": MeasuredField(unit=self._torque_unit(), label="Specified torque"),
            "unit": forms.ChoiceField(
                label="Unit", choices=TorqueUnit.choices, required=False
            ),
            "origin": forms.ChoiceField(
                label="Source",
                choices=[("", "—"), *FigureOrigin.choices],
                required=False,
            ),
        }
        for place in nut_places(self.item.rig):
            self.fields[MOVED + place] = forms.ChoiceField(
                label=f"Nuts of {WHEEL_PLACES[place]}",
                choices=[(HELD, "Held"), (HAS_MOVED, "Moved")],
                widget=forms.RadioSelect,
                required=False,
            )

    def _torque_unit(self) -> str:
        unit = self.data.get("unit") or self.initial.get("unit")
        return unit if unit in TorqueUnit.values else TorqueUnit.FOOT_POUNDS

    def _unit(self, measure: Measure) -> str:
        return self._torque_unit() if is_lug_torque(measure) else measure.unit

    def keep_at(self, url: str) -> None:
        """Each field is sent by itself as soon as it changes; without script the whole
        sheet is."""
        for name, field in self.fields.items():
            field.widget.attrs |= {
                "data-hx-post": url,
                "data-hx-trigger": "change",
                "data-hx-params": f"csrfmiddlewaretoken,field,{name}",
                "data-hx-vals": f'{{"field": "{name}"}}',
                "data-hx-target": f"#{self._said_at(name)}",
                "data-hx-swap": "outerHTML",
            }

    def _said_at(self, name: str) -> str:
        """The element that tells what became of a field."""
        if name in {"figure", "unit"}:
            return "wrenches"
        return f"said-{name}" if name.startswith("m_") else "sheet-progress"

    def kept(self) -> dict[str, str]:
        """What was filled in, as text to keep."""
        texts = {name: as_text(value) for name, value in self.cleaned_data.items()}
        return {name: text for name, text in texts.items() if text}

    def one(self, name: str) -> str:
        """One field by itself, as text to keep; ValidationError as for the form."""
        field = self.fields[name]
        given = field.widget.value_from_datadict(self.data, self.files, name)
        return as_text(field.clean(given))

    def ticked(self, kept: Mapping[str, str]) -> list[tuple[str, bool]]:
        return [(step, step_field(step) in kept) for step in self.steps]


def as_text(value: Any) -> str:
    """A cleaned value as it is kept; empty for nothing."""
    if isinstance(value, Decimal):
        return number(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, bool):
        return "on" if value else ""
    return str(value or "")
