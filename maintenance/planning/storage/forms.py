"""Forms of a stay: a visit, what its runways rest on, its end."""

from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.calculators.loads import LOADS
from maintenance.plans.models import PlanItem
from maintenance.service_records.wheels_form import AsksWheels
from maintenance.service_records.wheels_told import wheel_work_in
from maintenance.ui.forms import (
    DayInput,
    Fieldset,
    FilesField,
    Layout,
    RowsField,
    TokenField,
)
from maintenance.ui.number_fields import NumberField
from maintenance.vehicles.models import RunwaySetting, Stay, StayVisit

STANDING_LOADS = [load for load in LOADS.values() if load.parasitic]
APPLIANCES = 3
STATE_HELP = (
    "At rest: 12.6 V, or 1.255 by hydrometer, or 85 %. If you charge it, read it "
    "afterward."
)


class VisitForm(AsksWheels, forms.ModelForm):
    token = TokenField()
    done = RowsField(
        label="Checked and OK",
        queryset=PlanItem.objects.none(),
        required=False,
    )
    photos = FilesField(label="Photos", required=False)

    class Meta:
        model = StayVisit
        fields = ["on", "chassis", "house", "damp", "note"]
        widgets = {"on": DayInput, "note": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "chassis": STATE_HELP,
            "house": STATE_HELP,
        }

    def __init__(self, *args: Any, stay: Stay, items: list[PlanItem], **kwargs: Any):
        super().__init__(*args, **kwargs)
        wanted = [item.pk for item in items]
        self.fields["done"].queryset = PlanItem.objects.filter(pk__in=wanted)
        self.pressures = {place: f"pressure_{place}" for place in stay.rig.places}
        for place, name in self.pressures.items():
            self.fields[name] = forms.CharField(
                label=place, max_length=12, required=False
            )
        self.layout = Layout(
            "token",
            "on",
            "done",
            Fieldset("Batteries and moisture", "chassis", "house", "damp"),
            Fieldset("Tire pressures, like 65 psi", *self.pressures.values()),
            Fieldset("What you saw", "note", "photos"),
        )
        self.rig = stay.rig
        self.add_wheels(stay.rig)

    def values(self) -> dict[str, Any]:
        """As the service takes it."""
        data = self.cleaned_data
        pressures = {
            place: data[name] for place, name in self.pressures.items() if data[name]
        }
        keys = ("on", "chassis", "house", "damp", "note", "token", "done", "photos")
        wheels = self.wheels_for(wheel_work_in(self.rig, [], data["note"]))
        given = {key: data[key] for key in keys}
        return given | {"pressures": pressures, "wheels": wheels}


class RunwayForm(forms.ModelForm):
    chassis_capacity = NumberField(
        label="Chassis battery (Ah)", required=False, max_digits=6, decimal_places=1
    )
    chassis_drain = NumberField(
        label="or its measured drain (A)",
        required=False,
        max_digits=6,
        decimal_places=3,
    )
    house_capacity = NumberField(
        label="House batteries together (Ah)",
        required=False,
        max_digits=6,
        decimal_places=1,
    )
    house_drain = NumberField(
        label="or their measured drain (A)",
        required=False,
        max_digits=6,
        decimal_places=3,
    )

    class Meta:
        model = RunwaySetting
        fields = [
            "chassis_capacity",
            "chassis_kind",
            "chassis_since",
            "chassis_drain",
            "house_capacity",
            "house_kind",
            "house_since",
            "house_drain",
            "seal",
            "traps",
            "heater",
            "heater_bypassed",
            "propane",
        ]
        widgets = {"chassis_since": DayInput, "house_since": DayInput}
        help_texts = {"seal": "In millimeters; 51 is 2 in."}

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        for load in STANDING_LOADS:
            self._add_load(load.key, load.name)
        for n in range(APPLIANCES):
            self._add_appliance(n)
        self.layout = Layout(
            Fieldset(
                "Chassis battery",
                "chassis_capacity",
                "chassis_kind",
                "chassis_since",
                "chassis_drain",
            ),
            Fieldset(
                "House batteries",
                "house_capacity",
                "house_kind",
                "house_since",
                "house_drain",
            ),
            Fieldset(
                "What draws on a battery in storage",
                *(f"on_{load.key}" for load in STANDING_LOADS),
            ),
            Fieldset("Water", "traps", "seal", "heater", "heater_bypassed"),
            Fieldset(
                "Propane appliances left on, if kept warm",
                "propane",
                *(f"{name}_{n}" for n in range(APPLIANCES) for name in BURNER),
            ),
        )

    def _add_load(self, key: str, name: str) -> None:
        now = (self.instance.drains or {}).get(key, {})
        self.fields[f"on_{key}"] = forms.ChoiceField(
            label=name[:1].upper() + name[1:],
            choices=[
                ("", "no"),
                ("chassis", "on the chassis battery"),
                ("house", "on the house batteries"),
            ],
            required=False,
            initial=now.get("battery", ""),
        )

    def _add_appliance(self, n: int) -> None:
        rows = self.instance.burns or []
        now = rows[n] if n < len(rows) else {}
        for name, label in BURNER.items():
            self.fields[f"{name}_{n}"] = forms.CharField(
                label=label, max_length=40, required=False, initial=now.get(name, "")
            )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        data["drains"] = {
            load.key: {"battery": battery, "part": "1"}
            for load in STANDING_LOADS
            if (battery := data.get(f"on_{load.key}"))
        }
        data["burns"] = [
            row for n in range(APPLIANCES) if (row := self._appliance(data, n))
        ]
        return data

    def _appliance(self, data: dict[str, Any], n: int) -> dict[str, str]:
        row = {name: (data.get(f"{name}_{n}") or "").strip() for name in BURNER}
        if not any(row.values()):
            return {}
        for name, least, most in (("btu", 1, 500000), ("duty", 0, 1)):
            if not _between(row[name], least, most):
                told = "Enter a number from %(least)s to %(most)s."
                words = told % {"least": least, "most": most}
                self.add_error(f"{name}_{n}", words)
        return row

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {name: data[name] for name in (*self.Meta.fields, "drains", "burns")}


BURNER = {
    "name": "Appliance",
    "btu": "Burns (BTU per hour)",
    "duty": "Part of the time (0 to 1)",
}


def _between(text: str, least: int, most: int) -> bool:
    try:
        value = Decimal(text.replace(",", "."))
    except ArithmeticError:
        return False
    return value.is_finite() and least <= value <= most and value > 0


class WakeForm(forms.Form):
    ended_on = forms.DateField(label="Date it leaves storage", widget=DayInput)
    why = forms.CharField(
        label="Why does it leave without them?", max_length=300, required=False
    )

    def __init__(self, *args: Any, with_why: bool, **kwargs: Any):
        super().__init__(*args, **kwargs)
        if not with_why:
            del self.fields["why"]
