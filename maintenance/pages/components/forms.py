"""Forms about parts: what is known of one, where it goes, tires, axles."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.components.axles import Axle
from maintenance.components.correcting import fitting_words, moved_on
from maintenance.components.models import (
    SPARE,
    TIRE_PLACES,
    TYPES,
    Component,
    ComponentKind,
    Fitting,
    Mark,
    MassUnit,
)
from maintenance.core.calculators.tires import PLIES
from maintenance.plans.fields import WhenField
from maintenance.ui.forms import DayInput, Fieldset, Layout
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.gate_forms import GatedForm, MeterField
from maintenance.vehicles.models import Meter, MeterKind, Rig
from maintenance.vehicles.queries import meters_shown

LEFT = "left_"  # before the fields of the rig that a part leaves
COMMON = ("name", "maker", "serial", "made", "label_years")
TIRE = ("serial", "service", "load_range", "passenger", "maker")
BY_KIND: dict[str, tuple[str, ...]] = {
    ComponentKind.TIRE: TIRE,
    ComponentKind.BATTERY: ("type", "maker", "serial", "made", "label_years"),
    ComponentKind.CYLINDER: ("type", "serial", "made", "mark", "tested"),
    ComponentKind.EXTINGUISHER: (
        "type",
        "maker",
        "serial",
        "made",
        "tested",
        "recharged",
    ),
    ComponentKind.ALARM: ("type", "maker", "made", "label_years"),
}
MONTH_HELP = "As stamped: a month, like 05/2019, or a day."


class PartForm(forms.Form):
    """What is known of a part of one kind."""

    type = forms.ChoiceField(label="Type")
    name = forms.CharField(label="What it is", max_length=60, required=False)
    maker = forms.CharField(
        label="Manufacturer and model", max_length=80, required=False
    )
    serial = forms.CharField(label="Serial number", max_length=40, required=False)
    made = WhenField(label="Made", required=False, help_text=MONTH_HELP)
    label_years = forms.IntegerField(
        label="Life on its label, in years",
        min_value=1,
        max_value=40,
        required=False,
        help_text="Leave blank if the label doesn't say. We'll use the usual life.",
    )
    mark = forms.ChoiceField(
        label="Last requalification mark on the collar", choices=Mark.choices
    )
    tested = WhenField(label="Month of that mark", required=False, help_text=MONTH_HELP)
    recharged = WhenField(
        label="Last emptied or recharged", required=False, help_text=MONTH_HELP
    )
    service = forms.CharField(
        label="Load index and speed symbol",
        max_length=12,
        required=False,
        help_text="As on the sidewall, like 121/118S.",
    )
    load_range = forms.ChoiceField(
        label="Load range",
        required=False,
        choices=[("", "not given"), *[(name, name) for name in PLIES]],
    )
    passenger = forms.BooleanField(
        label="A passenger-car tire (P-metric)",
        required=False,
        help_text=(
            "On a motorhome, truck or trailer its load is divided by 1.10 "
            "(49 CFR 571.110)."
        ),
    )
    notes = forms.CharField(
        label="Notes", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        wanted = (*BY_KIND.get(kind, COMMON), "notes")
        for name in set(self.fields) - set(wanted):
            del self.fields[name]
        self.order_fields(wanted)
        if "type" in self.fields:
            self.fields["type"].choices = list(TYPES[kind].items())
        if kind == ComponentKind.TIRE:
            self._name_tin()
        if kind == ComponentKind.EXTINGUISHER:
            self.fields["tested"].label = "Last pressure test"
        if kind == ComponentKind.OTHER:
            self.fields["name"].required = True
        self.known = list(wanted)
        self.layout = Layout(Fieldset("The part", *wanted))

    def _name_tin(self) -> None:
        field = self.fields["serial"]
        field.label = "Its number after DOT (TIN)"
        field.help_text = (
            "All of it, from the side that shows it whole. The last four digits "
            "alone give its age."
        )

    def part(self) -> dict[str, Any]:
        data = {name: self.cleaned_data[name] for name in self.known}
        for name in ("made", "tested", "recharged"):
            if name in data:
                data[name] = data[name].start if data[name] else ""
        return data


def place_field(kind: str, rig: Rig) -> forms.Field:
    if kind != ComponentKind.TIRE:
        return forms.CharField(label="Where on the rig", max_length=40, required=False)
    places = (*rig.places, SPARE)
    return forms.ChoiceField(
        label="At which wheel", choices=[(p, TIRE_PLACES[p]) for p in places]
    )


class FittingForm(GatedForm):
    """What the meters of a rig showed when a part came on it or off it."""

    def add_meters(self, rig: Rig, prefix: str = "") -> None:
        self.meters: dict[str, Meter] = getattr(self, "meters", {})
        for meter in meters_shown(rig):
            if meter.kind == MeterKind.TOWED:
                continue
            name = f"{prefix}meter_{meter.kind}"
            self.meters[name] = meter
            self.fields[name] = MeasureField(
                label=f"{meter} of {meter.rig} showed ({meter.unit})",
                unit=meter.unit,
                required=False,
                help_text="Leave blank if you don't know. We'll use the readings.",
            )

    def values(self, today: date) -> dict[str, dict[str, Decimal]]:
        """Prefix of the fields -> kind of meter -> what it showed. For what is kept as
        questionable the readings tell."""
        on = self.cleaned_data["on"]
        asked = [MeterField(name, meter, on) for name, meter in self.meters.items()]
        found: dict[str, dict[str, Decimal]] = {"": {}, LEFT: {}}
        for name, one in self.figures(asked, today=today, fact="fitting").items():
            if not one.questionable:
                prefix = LEFT if name.startswith(LEFT) else ""
                found[prefix][one.meter.kind] = one.value
        return found


class NewPartForm(PartForm, FittingForm):
    """With where and since when, and the library's items that go with it."""

    def __init__(
        self,
        *args: Any,
        kind: str,
        rig: Rig,
        items: list[tuple[str, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, kind=kind, **kwargs)
        self.fields["place"] = place_field(kind, rig)
        self.fields["on"] = forms.DateField(label="On the rig since", widget=DayInput)
        self.add_meters(rig)
        meters = list(self.meters)
        self.fields["keys"] = forms.MultipleChoiceField(
            label="Add to the plan",
            required=False,
            choices=items,
            widget=forms.CheckboxSelectMultiple,
            help_text=(
                "Only jobs that fit its type are added. A job already on the rig's "
                "plan moves to this part, with its history."
            ),
        )
        self.layout.append(Fieldset("Where it is", "place", "on", *meters))
        if items:
            self.layout.append(Fieldset("Its maintenance", "keys"))


def wheels_off_field() -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label="Were these wheels off?",
        choices=[
            ("yes", "Yes: remind me to re-check their lug torque"),
            ("no", "No: I'm only correcting the list"),
        ],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose Yes or No: were these wheels off?"},
    )


class MoveForm(FittingForm):
    """To a place on a rig; `left_meter_…` are those of the rig that it leaves."""

    def __init__(self, *args: Any, component: Component, rig: Rig, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["place"] = place_field(component.kind, rig)
        self.fields["on"] = forms.DateField(label="Moved on", widget=DayInput)
        if component.rig is not None and component.rig != rig:
            self.add_meters(component.rig, LEFT)
        self.add_meters(rig)
        if component.kind == ComponentKind.TIRE:
            self.fields["wheels_off"] = wheels_off_field()


class AsideForm(FittingForm):
    on = forms.DateField(label="Removed on", widget=DayInput)
    scrap = forms.BooleanField(
        label="Scrapped: it won't go on a rig again", required=False
    )
    why = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        help_text="Needed if it's scrapped.",
    )

    def __init__(self, *args: Any, rig: Rig | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.meters = {}
        if rig is not None:
            self.add_meters(rig)


class CorrectFittingForm(forms.Form):
    """Filled with what it says, to say something else. `end` only where it was taken
    off; a day on which it was moved on is corrected with the next place."""

    rig = forms.ModelChoiceField(label="On", queryset=Rig.objects.none())
    start = forms.DateField(label="From", widget=DayInput)
    end = forms.DateField(
        label="Removed on",
        widget=DayInput,
        required=False,
        help_text="Leave blank if it's still there.",
    )
    why = forms.CharField(
        label="Why are you correcting it?",
        max_length=60,
        help_text="The old version stays, with your name and this reason.",
    )
    seen = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, data: Any, *, fitting: Fitting) -> None:
        names = ("rig", "place", "start", "end")
        start = {name: getattr(fitting, name) for name in names}
        super().__init__(data, initial=start | {"seen": fitting_words(fitting)})
        household = fitting.component.household
        self.fields["rig"].queryset = Rig.objects.for_household(household)
        tire = fitting.component.kind == ComponentKind.TIRE
        self.fields["place"] = (
            forms.ChoiceField(label="At which wheel", choices=list(TIRE_PLACES.items()))
            if tire
            else forms.CharField(
                label="Where on the rig", max_length=40, required=False
            )
        )
        if fitting.end is None or moved_on(fitting):
            del self.fields["end"]
        self.order_fields(["rig", "place", "start", "end", "why", "seen"])


class RotationForm(FittingForm):
    """For each tire its new place, and when."""

    on = forms.DateField(label="Done on", widget=DayInput)

    def __init__(
        self, *args: Any, rig: Rig, tires: Iterable[Component], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.tires = list(tires)
        places = [(p, TIRE_PLACES[p]) for p in (*rig.places, SPARE)]
        self.names = [f"tire_{one.pk}" for one in self.tires]
        for one, name in zip(self.tires, self.names, strict=True):
            self.fields[name] = forms.ChoiceField(
                label=f"From {one.place_words} to",
                choices=places,
                initial=one.place,
            )
        self.add_meters(rig)
        self.fields["wheels_off"] = wheels_off_field()
        when = ["wheels_off", "on", *self.meters]
        self.layout = Layout(
            Fieldset("Where each goes", *self.names), Fieldset("When", *when)
        )

    def places(self) -> dict[Component, str]:
        pairs = zip(self.tires, self.names, strict=True)
        return {one: self.cleaned_data[name] for one, name in pairs}


class AxlesForm(forms.Form):
    unit = forms.ChoiceField(label="In", choices=MassUnit.choices)

    def __init__(self, *args: Any, axles: list[Axle], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.axles = axles
        unit = self.data.get("unit") or self.initial.get("unit") or "lb"
        for axle in axles:
            places = ", ".join(TIRE_PLACES[p] for p in axle.places)
            self.fields[f"axle_{axle.number}"] = MeasureField(
                label=f"Axle {axle.number}: {places}",
                unit=unit,
                least="1",
                required=False,
            )

    def ratings(self) -> dict[int, Decimal | None]:
        return {a.number: self.cleaned_data[f"axle_{a.number}"] for a in self.axles}
