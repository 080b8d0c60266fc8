"""The forms of something that happened."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from crispy_forms.layout import Layout
from django import forms

from maintenance.households.refusals import Refused
from maintenance.plans.event_words import EVENT_WORDS
from maintenance.ui.forms import DayInput, PageFormHelper
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.events import version_of
from maintenance.vehicles.models import WHEEL_PLACES, Event, Meter, Rig
from maintenance.vehicles.queries import fact_of_event
from maintenance.vehicles.readings import Figure, figure_meant


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

    def __init__(self, *args: Any, rig: Rig, meters: Iterable[Meter], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["places"].choices = [(p, WHEEL_PLACES[p]) for p in rig.places]
        self.meters = list(meters)
        for meter in self.meters:
            self.fields[f"meter_{meter.kind}"] = MeasureField(
                label=f"{meter} showed",
                unit=meter.unit,
                required=False,
                help_text="Follow-ups by distance count from it.",
            )
            self.fields[f"doubt_{meter.kind}"] = forms.CharField(
                label="What is it?", required=False, widget=forms.RadioSelect
            )
        self.helper = PageFormHelper()
        figures = [f"meter_{meter.kind}" for meter in self.meters]
        self.helper.layout = Layout("kind", "on", "places", "note", *figures)

    def figures(self, today: date) -> list[Figure]:
        """As they were meant. Refused, after all that do not fit are asked about."""
        found: list[Figure] = []
        refused: list[Refused] = []
        for meter in self.meters:
            if self.cleaned_data[f"meter_{meter.kind}"] is None:
                continue
            try:
                found.append(self._figure(meter, today))
            except Refused as refusal:
                refused.append(refusal)
        for other in refused[1:]:
            self.add_error(other.field, other.text)
        if refused:
            raise refused[0]
        return found

    def _figure(self, meter: Meter, today: date) -> Figure:
        data, name = self.cleaned_data, f"meter_{meter.kind}"
        if data["on"] > today:
            return Figure(meter, data[name])
        return figure_meant(
            meter,
            on=data["on"],
            value=data[name],
            answer=data[f"doubt_{meter.kind}"],
            ask=lambda choices: self._ask(meter, choices),
            field=name,
            fact=self.fact,
        )

    def _ask(self, meter: Meter, choices: list[tuple[str, str]]) -> None:
        name = f"doubt_{meter.kind}"
        self.fields[name].widget.choices = choices
        shown = self.helper.layout.fields
        shown.insert(shown.index(f"meter_{meter.kind}") + 1, name)

    def event(self, today: date) -> dict[str, Any]:
        """What the service takes."""
        data, figures = self.cleaned_data, self.figures(today)
        return {
            "kind": data["kind"],
            "on": data["on"],
            "places": data["places"] or None,
            "note": data["note"],
            "values": {one.meter.kind: one.value for one in figures},
            "confirmed": {one.meter.kind for one in figures if one.confirmed},
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
            *args, rig=rig, meters=rig.meters.all(), initial=start, **kwargs
        )
        self.helper.layout.fields += ["why", "seen"]
