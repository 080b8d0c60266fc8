"""The form that corrects a fact: filled with what it says, to say something else."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from maintenance.ui.forms import DayInput
from maintenance.ui.number_fields import MeasureField, NumberField
from maintenance.ui.words import currency_symbol
from maintenance.vehicles.correcting import FUEL, Fact, fuel_of, words_of
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import GatedForm, MeterField
from maintenance.vehicles.models import (
    MeterReplacement,
    NotTowed,
    Reading,
    Run,
    SevereDuty,
    Stay,
    Trip,
)
from maintenance.vehicles.trips import odometer_of


class FactForm(GatedForm):
    """`gated` are the fields that take what a meter showed."""

    columns: tuple[str, ...] = ()

    def __init__(self, data: Any, *, fact: Any):
        self.fact = fact
        start = {name: getattr(fact, name) for name in self.columns}
        super().__init__(data, initial=start | {"seen": words_of(fact)})
        self.add_fields()
        self.fields["why"] = forms.CharField(
            label="Why are you correcting it?",
            max_length=60,
            help_text="The old version stays, with your name and this reason.",
        )
        self.fields["seen"] = forms.CharField(widget=forms.HiddenInput)

    def add_fields(self) -> None:
        """Those that differ from fact to fact."""

    def gated(self) -> list[MeterField]:
        return []

    def correction(self, today: date) -> dict[str, Any]:
        """What the service takes."""
        data = self.cleaned_data
        changed = [one for one in self.gated() if self._says_other(one)]
        figures: dict[str, Figure] = self.figures(
            changed,
            today=today,
            fact=self.kept_as,
            instead_of=self.instead_of(),
            needed=isinstance(self.fact, MeterReplacement),
        )
        columns = {name: data[name] for name in self.columns if name in data}
        return {
            "columns": columns | {name: one.value for name, one in figures.items()},
            "confirmed": frozenset(n for n, one in figures.items() if one.confirmed),
            "questionable": frozenset(
                n for n, one in figures.items() if one.questionable
            ),
            "why": data["why"],
            "seen": data["seen"],
        }

    kept_as = ""  # what its figures are given with: see `Typed.fact`

    def instead_of(self) -> list[int]:
        return []

    def _says_other(self, one: MeterField) -> bool:
        """A figure that stays as it is was asked about when it was entered."""
        return bool({one.name, "on", "start", "end"} & set(self.changed_data))


class ReadingFactForm(FactForm):
    columns: tuple[str, ...] = ("on", "value")

    def add_fields(self) -> None:
        reading: Reading = self.fact
        self.fields["value"] = MeasureField(label="It showed", unit=reading.meter.unit)
        self.fields["on"] = forms.DateField(label="On", widget=DayInput)
        stop = fuel_of(reading)
        if stop is None:
            return
        self.columns = (*self.columns, *FUEL)
        self.initial.update({name: getattr(stop, name) for name in FUEL})
        self.fields["volume"] = MeasureField(
            label=f"Fuel added ({stop.get_unit_display()})",
            unit=stop.unit,
            step="0.001",
            least="0.001",
        )
        self.fields["price"] = NumberField(
            label=f"Total paid ({currency_symbol(stop.currency)})",
            min_value=0,
            max_digits=10,
            decimal_places=2,
            required=False,
        )
        self.fields["full"] = forms.BooleanField(label="Filled up", required=False)

    def gated(self) -> list[MeterField]:
        return [MeterField("value", self.fact.meter, self.cleaned_data["on"])]

    def instead_of(self) -> list[int]:
        return [self.fact.pk]

    @property
    def kept_as(self) -> str:  # type: ignore[override]
        return "event" if self.fact.event_id else ""


class ReplacementFactForm(FactForm):
    columns = ("on", "old_final", "new_start")
    kept_as = "replacement"

    def add_fields(self) -> None:
        unit = self.fact.meter.unit
        self.fields["on"] = forms.DateField(label="Replaced on", widget=DayInput)
        self.fields["old_final"] = MeasureField(
            label="The old one last showed", unit=unit
        )
        self.fields["new_start"] = MeasureField(label="The new one began at", unit=unit)

    def gated(self) -> list[MeterField]:
        return [MeterField("old_final", self.fact.meter, self.cleaned_data["on"])]


class RunFactForm(FactForm):
    columns = ("on", "hours")

    def add_fields(self) -> None:
        self.fields["hours"] = MeasureField(label="It ran (h)", unit="h")
        self.fields["on"] = forms.DateField(label="On", widget=DayInput)


class NotTowedFactForm(FactForm):
    columns = ("since", "said_on")

    def add_fields(self) -> None:
        self.fields["since"] = forms.DateField(label="Not towed since", widget=DayInput)
        self.fields["said_on"] = forms.DateField(label="As of", widget=DayInput)


class DutyFactForm(FactForm):
    """The model's own `why` is the cause of the severe duty."""

    columns = ("start", "end")

    def add_fields(self) -> None:
        self.fields["start"] = forms.DateField(label="From", widget=DayInput)
        self.fields["end"] = forms.DateField(
            label="To", widget=DayInput, required=False
        )
        self.fields["cause"] = forms.CharField(
            label="What makes it severe?",
            max_length=120,
            required=False,
            initial=self.fact.why,
        )

    def correction(self, today: date) -> dict[str, Any]:
        found = super().correction(today)
        found["columns"] |= {"why": self.cleaned_data["cause"]}
        return found


class StayFactForm(FactForm):
    columns = ("start", "planned_until", "ended_on")

    def add_fields(self) -> None:
        self.fields["start"] = forms.DateField(label="In storage from", widget=DayInput)
        self.fields["planned_until"] = forms.DateField(
            label="Planned until", widget=DayInput, required=False
        )
        self.fields["ended_on"] = forms.DateField(
            label="Left on",
            widget=DayInput,
            required=False,
            help_text="Leave blank while it's still there.",
        )


class TripFactForm(FactForm):
    columns = ("start", "end", "distance", "hitched_at", "unhitched_at", "off")
    kept_as = "trip"

    def add_fields(self) -> None:
        trip: Trip = self.fact
        self.meter = odometer_of(trip.driver)
        unit = str(self.meter.unit) if self.meter else trip.unit
        self.fields["start"] = forms.DateField(label="First day", widget=DayInput)
        self.fields["end"] = forms.DateField(label="Last day", widget=DayInput)
        for name, label in (
            ("hitched_at", f"Odometer of {trip.driver} at the start"),
            ("unhitched_at", f"Odometer of {trip.driver} at the end"),
        ):
            if self.meter is not None:
                self.fields[name] = MeasureField(label=label, unit=unit, required=False)
        if self.meter is not None and (trip.tow_vehicle or trip.towed_car):
            self.fields["off"] = MeasureField(
                label=f"Driven unhitched ({unit})", unit=unit, required=False
            )
        self.fields["distance"] = MeasureField(
            label=f"Distance ({trip.unit})",
            unit=trip.unit,
            required=False,
            help_text="With both odometer figures, we work it out.",
        )

    def gated(self) -> list[MeterField]:
        if self.meter is None:
            return []
        data = self.cleaned_data
        days = {"hitched_at": data["start"], "unhitched_at": data["end"]}
        return [MeterField(name, self.meter, on) for name, on in days.items()]

    def instead_of(self) -> list[int]:
        return list(self.fact.reading_ids)


FORMS: Mapping[type[Fact], type[FactForm]] = {
    Reading: ReadingFactForm,
    MeterReplacement: ReplacementFactForm,
    Run: RunFactForm,
    NotTowed: NotTowedFactForm,
    SevereDuty: DutyFactForm,
    Stay: StayFactForm,
    Trip: TripFactForm,
}
