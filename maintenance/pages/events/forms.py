"""The forms of something that happened."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django import forms

from maintenance.core.facts import TOW_ODOMETER
from maintenance.plans.event_words import EVENT_WORDS
from maintenance.ui.forms import DayInput, Layout
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.events import version_of
from maintenance.vehicles.gate_forms import (
    GatedForm,
    MeterField,
    confirmed_in,
    echoes_of,
    questionable_in,
    values_of,
)
from maintenance.vehicles.models import WHEEL_PLACES, Event, Meter, Rig
from maintenance.vehicles.queries import fact_of_event, meters_asked
from maintenance.vehicles.road import tow_meter_on
from maintenance.vehicles.road_form import tow_field


class EventForm(GatedForm):
    fact = "event"  # a new one, unlike any that is kept
    instead_of: Sequence[int] = ()  # the readings that an event gave so far
    echoes: Sequence[str] = ()

    kind = forms.ChoiceField(
        label="What happened?",
        # Nothing is chosen by itself: saved in haste, the first would be an alarm.
        choices=lambda: [
            ("", "Choose …"),
            *sorted(EVENT_WORDS.items(), key=lambda pair: str(pair[1])),
        ],
        error_messages={"required": "Choose what happened."},
    )
    on = forms.DateField(label="On", widget=DayInput)
    places = forms.MultipleChoiceField(
        label="At which wheels?",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Leave unchecked for all wheels, or if wheels don't matter.",
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
            self.fields[f"meter_{name}"] = (
                tow_field(rig, meter)
                if name == TOW_ODOMETER
                else MeasureField(
                    label=f"{meter} showed",
                    unit=meter.unit,
                    required=False,
                    help_text="Re-checks by distance count from it.",
                )
            )
        figures = [f"meter_{name}" for name in self.meters]
        self.layout = Layout("kind", "on", "places", "note", *figures)

    def event(self, today: date) -> dict[str, Any]:
        """What the service takes."""
        data = self.cleaned_data
        asked = [
            MeterField(f"meter_{name}", meter, data["on"])
            for name, meter in self.meters.items()
        ]
        figures = self.figures(
            asked, today=today, fact=self.fact, instead_of=self.instead_of
        )
        self.echoes = echoes_of(figures)
        return {
            "kind": data["kind"],
            "on": data["on"],
            "places": data["places"] or None,
            "note": data["note"],
            "values": values_of(figures),
            "confirmed": confirmed_in(figures),
            "questionable": questionable_in(figures),
        }


class CorrectEventForm(EventForm):
    """Filled with what it says, to say something else."""

    seen = forms.CharField(widget=forms.HiddenInput)
    why = forms.CharField(
        label="Why?",
        max_length=100,
        help_text="The old version stays, with your name and this reason.",
    )

    def __init__(self, *args: Any, event: Event, **kwargs: Any):
        self.fact = fact_of_event(event.pk)
        self.instead_of = list(event.readings.values_list("pk", flat=True))
        start = {"kind": event.kind, "on": event.on, "note": event.note}
        start |= {"places": event.places or [], "seen": version_of(event)}
        start |= {f"meter_{kind}": value for kind, value in event.values.items()}
        rig = event.rig
        super().__init__(
            *args,
            rig=rig,
            meters=meters_asked(rig, event.values),
            tow=tow_meter_on(rig, event.on),
            initial=start,
            **kwargs,
        )
        self.layout += ["why", "seen"]
