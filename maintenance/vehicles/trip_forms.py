"""Forms about trips: planning one, and telling how it went."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from maintenance.core.units import show
from maintenance.households.models import DistanceUnit, Household
from maintenance.ui.forms import DayInput, Fieldset, Fold, Layout
from maintenance.ui.number_fields import MeasureField
from maintenance.ui.words import day_words

from .forms import AsksWhenItLeft, usual_volume_unit
from .gate import Typed, doubt_about, judge
from .gate_forms import GatedForm, MeterField, echoes_of
from .models import (
    TRAILERS,
    Meter,
    MeterUnit,
    Rig,
    RigKind,
    Trip,
    WeightUnit,
)
from .trips import MOVED, THEIRS, WRONG, figures_question, odometer_of

TOWABLE = (RigKind.TOWED_CAR, RigKind.TOW_VEHICLE)
MOST_PEOPLE = 20


def usual_weight_unit(household: Household) -> WeightUnit:
    miles = household.distance_unit == DistanceUnit.MILES
    return WeightUnit.POUNDS if miles else WeightUnit.KILOGRAMS


class TripForm(AsksWhenItLeft, forms.ModelForm):
    """Asks whose the odometer's figures are where another vehicle tows now."""

    distance = MeasureField(
        label="Distance",
        unit="mi",
        required=False,
        help_text="A guess is fine. It decides what comes due on the way.",
    )
    people = forms.IntegerField(
        label="People aboard", min_value=1, max_value=MOST_PEOPLE, required=False
    )
    water = MeasureField(label="Fresh water", unit="gal", required=False)
    cargo = MeasureField(label="Cargo", unit="lb", required=False)

    class Meta:
        model = Trip
        fields = [
            "title",
            "origin",
            "start",
            "end",
            "distance",
            "unit",
            "tow_vehicle",
            "towed_car",
            "towed_car_counts",
            "people",
            "water",
            "cargo",
        ]
        widgets = {"start": DayInput, "end": DayInput}
        labels = {"start": "First day", "end": "Last day"}
        help_texts = {
            "towed_car_counts": ("Check its odometer before and after a tow."),
        }

    def __init__(self, *args: Any, rig: Rig, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.units = {
            "distance": self.data.get("unit") or rig.household.distance_unit,
            "water": self._unit_of_load("water", usual_volume_unit(rig.household)),
            "cargo": self._unit_of_load("cargo", usual_weight_unit(rig.household)),
        }
        if self.units["distance"] not in DistanceUnit.values:
            self.units["distance"] = rig.household.distance_unit
        fields: dict[str, Any] = self.fields
        for name, unit in self.units.items():
            fields[name].unit = unit
        for name in ("water", "cargo"):
            fields[name].label = f"{fields[name].label} ({self.units[name]})"
        self._choose_who_comes(rig)
        self.layout = self._layout()
        self.add_left()

    def _ask_whose(self, new: Rig | None) -> None:
        """Whose the figures are, until it is answered."""
        trip = self.instance
        old = trip.driver if trip.pk else None
        if trip.hitched_at is None or not trip.rig.is_trailer or new == old:
            return
        choices = [(THEIRS, f"{old}'s: keep them with {old}")]
        if odometer_of(new) is not None:
            choices.append((MOVED, f"{new}'s: move them from {old} to {new}"))
        choices.append((WRONG, "Wrong: void them"))
        self.fields["figures_of"] = forms.ChoiceField(
            label="Whose figures are these?",
            choices=choices,
            required=False,
            widget=forms.RadioSelect,
        )
        fields: list[Any] = self.layout
        fields.insert(0, Fieldset("Odometer figures", "figures_of"))
        answer = str(self.data.get(self.add_prefix("figures_of"), ""))
        if answer not in dict(choices):
            self.add_error("figures_of", figures_question(trip, old))
            return
        self.cleaned_data["figures_of"] = answer
        if answer == MOVED:
            self._check_moved(odometer_of(new))

    def _check_moved(self, meter: Meter | None) -> None:
        """They have to fit the other readings of the vehicle that gets them."""
        trip = self.instance
        days = {trip.start: trip.hitched_at, trip.end: trip.unhitched_at}
        for on, value in days.items():
            if meter is None or value is None:
                continue
            typed = Typed(meter, on, value, fact="trip", instead_of=trip.reading_ids)
            doubt = doubt_about(judge(typed), typed)
            if doubt is not None:
                words = doubt.text.removesuffix(" What is it?")
                self.add_error(
                    "figures_of",
                    f"{show(value, meter.unit)} on {day_words(on)}, as {meter.rig}'s: "
                    f"{words} Choose another answer, then close out the trip "
                    "with the right figures.",
                )

    def _unit_of_load(self, name: str, usual: str) -> str:
        """What was given keeps its unit."""
        kept = getattr(self.instance, name) is not None
        return str(getattr(self.instance, f"{name}_unit") if kept else usual)

    def _choose_who_comes(self, rig: Rig) -> None:
        fields: dict[str, Any] = self.fields
        others = Rig.objects.for_household(rig.household).kept().exclude(pk=rig.pk)
        if rig.is_trailer:
            del self.fields["towed_car"], self.fields["towed_car_counts"]
            drivers = others.exclude(kind__in=TRAILERS)
            fields["tow_vehicle"].queryset = drivers
            return
        del self.fields["tow_vehicle"]
        fields["towed_car"].queryset = others.filter(kind__in=TOWABLE)
        fields["towed_car"].empty_label = "none"
        before = rig.trips.filter(towed_car__isnull=False, withdrawn=False).first()
        if before is not None and self.instance.pk is None:
            self.initial.setdefault("towed_car_counts", before.towed_car_counts)

    def _layout(self) -> Layout:
        who = ("tow_vehicle", "towed_car", "towed_car_counts")
        return Layout(
            Fieldset("Where and when", "title", "origin", "start", "end"),
            Fieldset("How far", "distance", "unit"),
            Fieldset("Towing", *(n for n in who if n in self.fields)),
            Fold("Load", "people", "water", "cargo", now="people, water, cargo"),
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        start, end = data.get("start"), data.get("end")
        if start and end and end < start:
            self.add_error(
                "end", "The last day is before the first. Enter a later last day."
            )
        for name in ("water", "cargo"):
            data[f"{name}_unit"] = self.units[name]
        if "tow_vehicle" in data:
            self._ask_whose(data["tow_vehicle"])
        return data


class TripToldForm(AsksWhenItLeft, GatedForm):
    """Either both figures of the odometer, or the distance."""

    echoes: Sequence[str] = ()

    end = forms.DateField(label="Last day", widget=DayInput)
    hitched_at = MeasureField(label="Odometer at the start", unit="mi")
    unhitched_at = MeasureField(label="Odometer at the end", unit="mi")
    off = MeasureField(
        label="Driven unhitched",
        unit="mi",
        required=False,
        help_text="Side trips without the trailer. They don't count for it.",
    )
    distance = MeasureField(
        label="Distance, if you have no readings", unit="mi", required=False
    )

    def __init__(self, *args: Any, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.trip = trip
        self.meter = meter = odometer_of(trip.driver)
        unit = str(meter.unit) if meter else trip.unit
        fields: dict[str, Any] = self.fields
        for name in ("hitched_at", "unhitched_at"):
            fields[name].unit = unit
            fields[name].required = False
            if trip.driver is not None and trip.driver != trip.rig:
                words = "of %(car)s, in %(unit)s"
            else:
                words = "in %(unit)s"
            fields[name].help_text = words % {"car": trip.driver, "unit": unit}
        fields["distance"].unit = trip.unit
        fields[
            "distance"
        ].help_text = f"in {MeterUnit(trip.unit).label}; odometer figures win"
        fields["off"].unit = unit
        if meter is None:
            del fields["hitched_at"], fields["unhitched_at"]
        if meter is None or not (trip.tow_vehicle or trip.towed_car):
            del fields["off"]
        self.layout = Layout(*self.fields)
        self.add_left()

    @property
    def did_not_go(self) -> bool:
        """The distance is none, by hand or by the odometer."""
        data = self.cleaned_data
        start, end = data.get("hitched_at"), data.get("unhitched_at")
        if start is None and end is None:
            return data.get("distance") == 0
        return start == end

    def told(self, today: date) -> dict[str, Any]:
        """What the service takes."""
        data, trip = dict(self.cleaned_data), self.trip
        if self.meter is None:
            return data
        days = {"hitched_at": trip.start, "unhitched_at": data["end"]}
        asked = [MeterField(name, self.meter, on) for name, on in days.items()]
        figures = self.figures(
            asked, today=today, fact="trip", instead_of=trip.reading_ids
        )
        self.echoes = echoes_of(figures)
        return data | {
            **{name: one.value for name, one in figures.items()},
            "confirmed": {name for name, one in figures.items() if one.confirmed},
            "questionable": {name for name, x in figures.items() if x.questionable},
        }


def first_guess(trip: Trip) -> dict[str, Any]:
    """What the form says before anything is typed."""
    names = ("end", "distance", "hitched_at", "unhitched_at", "off")
    return {name: getattr(trip, name) for name in names}
