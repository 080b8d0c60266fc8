"""The forms of something that happened."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from crispy_forms.layout import Layout
from django import forms

from maintenance.core.facts import TOW_ODOMETER
from maintenance.households.refusals import Refused
from maintenance.plans.event_words import EVENT_WORDS
from maintenance.ui.forms import DayInput, PageFormHelper
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.events import version_of
from maintenance.vehicles.models import WHEEL_PLACES, Event, Meter, Rig
from maintenance.vehicles.queries import fact_of_event
from maintenance.vehicles.readings import Figure, figure_meant
from maintenance.vehicles.road import tow_meter_on

from ..forms import tow_label


class EventForm(forms.Form):
    """A figure that does not fit the readings of its meter is asked about once."""

    fact = "event"  # a new one, unlike any that is kept

    kind = forms.ChoiceField(
        label="What happened",
        choices=lambda: sorted(EVENT_WORDS.items(), key=lambda pair: str(pair[1])),
    )
    on = forms.DateField(label="On", widget=DayInput)
    places = forms.MultipleChoiceField(
        label="At which wheels",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked means all, or that wheels have no part in it.",
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(
        self,
        *args: Any,
        rig: Rig,
        meters: Iterable[Meter],
        tow: Meter | None,
        **kwargs: Any,
    ):
        """`tow`: the odometer of what tows the rig just then."""
        super().__init__(*args, **kwargs)
        self.fields["places"].choices = [(p, WHEEL_PLACES[p]) for p in rig.places]
        self.meters: dict[str, Meter] = {meter.kind: meter for meter in meters}
        if tow is not None:
            self.meters[TOW_ODOMETER] = tow
        for name, meter in self.meters.items():
            of_tow = name == TOW_ODOMETER
            self.fields[f"meter_{name}"] = MeasureField(
                label=tow_label(meter) if of_tow else f"{meter} showed",
                unit=meter.unit,
                required=False,
                help_text="Follow-ups by distance count from it.",
            )
            self.fields[f"doubt_{name}"] = forms.CharField(
                label="What is it?", required=False, widget=forms.RadioSelect
            )
        self.helper = PageFormHelper()
        figures = [f"meter_{name}" for name in self.meters]
        self.helper.layout = Layout("kind", "on", "places", "note", *figures)

    def figures(self, today: date) -> dict[str, Figure]:
        """As they were meant. Refused, after all that do not fit are asked about."""
        found: dict[str, Figure] = {}
        refused: list[Refused] = []
        for name in self.meters:
            if self.cleaned_data[f"meter_{name}"] is None:
                continue
            try:
                found[name] = self._figure(name, today)
            except Refused as refusal:
                refused.append(refusal)
        for other in refused[1:]:
            self.add_error(other.field, other.text)
        if refused:
            raise refused[0]
        return found

    def _figure(self, kind: str, today: date) -> Figure:
        data, name, meter = self.cleaned_data, f"meter_{kind}", self.meters[kind]
        if data["on"] > today:
            return Figure(meter, data[name])
        return figure_meant(
            meter,
            on=data["on"],
            value=data[name],
            answer=data[f"doubt_{kind}"],
            ask=lambda choices: self._ask(kind, choices),
            field=name,
            fact=self.fact,
        )

    def _ask(self, kind: str, choices: list[tuple[str, str]]) -> None:
        name = f"doubt_{kind}"
        self.fields[name].widget.choices = choices
        shown = self.helper.layout.fields
        shown.insert(shown.index(f"meter_{kind}") + 1, name)

    def event(self, today: date) -> dict[str, Any]:
        """What the service takes."""
        data, figures = self.cleaned_data, self.figures(today)
        return {
            "kind": data["kind"],
            "on": data["on"],
            "places": data["places"] or None,
            "note": data["note"],
            "values": {name: one.value for name, one in figures.items()},
            "confirmed": {name for name, one in figures.items() if one.confirmed},
        }


class CorrectEventForm(EventForm):
    """Filled with what it says, to say something else."""

    seen = forms.CharField(widget=forms.HiddenInput)
    why = forms.CharField(
        label="Why",
        max_length=100,
        help_text="What it said stays readable, with your name and this reason.",
    )

    def __init__(self, *args: Any, event: Event, **kwargs: Any):
        self.fact = fact_of_event(event.pk)
        start = {"kind": event.kind, "on": event.on, "note": event.note}
        start |= {"places": event.places or [], "seen": version_of(event)}
        start |= {f"meter_{kind}": value for kind, value in event.values.items()}
        rig = event.rig
        super().__init__(
            *args,
            rig=rig,
            meters=rig.meters.all(),
            tow=tow_meter_on(rig, event.on),
            initial=start,
            **kwargs,
        )
        self.helper.layout.fields += ["why", "seen"]
