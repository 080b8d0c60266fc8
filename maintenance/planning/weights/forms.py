"""Forms for a rig's labels and for a scale ticket."""

from decimal import Decimal
from typing import Any

from django import forms

from maintenance.components.axles import Axle
from maintenance.ui.forms import DayInput, Fieldset, Layout
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.models import (
    TRAILERS,
    Rig,
    RigKind,
    ScaleTicket,
    WeightLabel,
    WeightUnit,
)

COUPLED = (
    "A ticket coupled names the trailer and what stood on its axles; one alone has "
    "neither."
)
FIGURES = ("gvwr", "gcwr", "capacity", "uvw")
HELP = {
    "gvwr": "GVWR, on the manufacturer's certification label.",
    "gcwr": "GCWR, in the manufacturer's manual; only for rigs that tow.",
    "uvw": (
        "UVW. Since 2008 with full propane, without water; before 2008 without either."
    ),
}


class LabelForm(forms.ModelForm):
    """`tire_N` and `pressure_N` for each axle, counted from the front."""

    class Meta:
        model = WeightLabel
        fields = [
            "unit",
            "gvwr",
            "gcwr",
            "kind",
            "capacity",
            "on",
            "uvw",
            "seats",
            "passenger_tires",
        ]
        widgets = {"on": DayInput}
        help_texts = {
            "kind": "“CCC” has had three meanings; its date shows which.",
        }

    def __init__(self, *args: Any, axles: list[Axle], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.axles = axles
        unit = self.data.get("unit") or self.initial.get("unit") or "lb"
        unit = unit if unit in WeightUnit.values else "lb"
        for name in FIGURES:
            label = self._meta.model._meta.get_field(name).verbose_name
            self.fields[name] = MeasureField(
                label=str(label)[:1].upper() + str(label)[1:],
                unit=unit,
                required=False,
                help_text=HELP.get(name, ""),
            )
        for axle in axles:
            self._add_tire(axle, unit)
        self.layout = self._layout()

    def _add_tire(self, axle: Axle, unit: str) -> None:
        kept = (self.instance.tires or {}).get(str(axle.number), {})
        self.fields[f"tire_{axle.number}"] = MeasureField(
            label=f"Axle {axle.number}: load one tire carries",
            unit=unit,
            required=False,
            initial=Decimal(kept["load"]) if kept.get("load") else None,
            help_text="At the pressure you keep, from the tire manufacturer's table.",
        )
        self.fields[f"pressure_{axle.number}"] = forms.CharField(
            label=f"Axle {axle.number}: that pressure, cold",
            max_length=20,
            required=False,
            initial=kept.get("pressure", ""),
        )

    def _layout(self) -> Layout:
        tires = [
            f"{name}_{axle.number}"
            for axle in self.axles
            for name in ("tire", "pressure")
        ]
        return Layout(
            "unit",
            Fieldset("Weight limits", "gvwr", "gcwr"),
            Fieldset(
                "Cargo label",
                "kind",
                "capacity",
                "on",
                "uvw",
                "seats",
            ),
            Fieldset("Tires", *tires, "passenger_tires"),
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        tires = {}
        for axle in self.axles:
            load = data.pop(f"tire_{axle.number}", None)
            pressure = data.pop(f"pressure_{axle.number}", "")
            if load is not None:
                tires[str(axle.number)] = {"load": str(load), "pressure": pressure}
        return {**data, "tires": tires}


class TicketForm(forms.ModelForm):
    steer = MeasureField(label="Steer axle", unit="lb")
    drive = MeasureField(label="Drive axle", unit="lb")
    tag = MeasureField(label="Tag axle, if it has one", unit="lb", required=False)
    behind = MeasureField(label="Trailer axles, total", unit="lb", required=False)

    class Meta:
        model = ScaleTicket
        fields = [
            "rig",
            "on",
            "place",
            "trailer",
            "unit",
            "steer",
            "drive",
            "tag",
            "behind",
            "note",
        ]
        widgets = {"on": DayInput}
        labels = {"rig": "Vehicle that drives"}
        help_texts = {
            "trailer": "Leave blank if the vehicle was weighed alone.",
            "note": "People, water, fuel; hitch bars slack or tight.",
        }

    def __init__(self, *args: Any, rig: Rig, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        kept = Rig.objects.for_household(rig.household).kept()
        fields["rig"].queryset = kept.exclude(kind__in=TRAILERS)
        # A camper rides on the truck: both stand on the scale as one.
        fields["trailer"].queryset = kept.filter(
            kind__in=TRAILERS - {RigKind.TRUCK_CAMPER}
        )
        fields["trailer"].empty_label = "nothing: alone"
        unit = self.data.get("unit") or self.initial.get("unit") or "lb"
        for name in ("steer", "drive", "tag", "behind"):
            fields[name].unit = unit if unit in WeightUnit.values else "lb"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if (data.get("trailer") is None) != (data.get("behind") is None):
            self.add_error("behind", COUPLED)
        return data
