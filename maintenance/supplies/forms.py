"""Forms of the list of tools and supplies."""

from decimal import Decimal
from typing import Any

from django import forms

from maintenance.ui.forms import DayInput
from maintenance.ui.number_fields import MeasureField, NumberField

from .models import Drive, ScaleUnit, StockUnit, Supply, Tool, ToolKind

NEEDED_BY = {
    ToolKind.TORQUE_WRENCH: (
        "name",
        "drive",
        "unit",
        "lowest_mark",
        "full_scale",
        "calibrated_on",
        "cycles",
        "mishap",
        "note",
    ),
    ToolKind.SOCKET: ("name", "drive", "size", "note"),
    ToolKind.OTHER: ("name", "note"),
}


class ToolForm(forms.Form):
    """A tool of one kind, with the fields of that kind."""

    name = forms.CharField(
        label="Name", max_length=80, help_text="The name you'd look for."
    )
    drive = forms.ChoiceField(
        label="Drive", choices=[("", "—"), *Drive.choices], required=False
    )
    size = forms.CharField(
        label="Size", max_length=20, required=False, help_text="21 mm, 13/16 in"
    )
    unit = forms.ChoiceField(label="Scale in", choices=ScaleUnit.choices)
    lowest_mark = MeasureField(
        label="Lowest mark",
        unit=ScaleUnit.FOOT_POUNDS,
        required=False,
        help_text="As printed on it. Leave blank if you don't know.",
    )
    full_scale = MeasureField(label="Highest mark", unit=ScaleUnit.FOOT_POUNDS)
    calibrated_on = forms.DateField(
        label="Last calibrated on",
        widget=DayInput,
        required=False,
        help_text="For a new wrench, the date on its certificate.",
    )
    cycles = forms.IntegerField(
        label="Clicks since then (a guess)",
        min_value=0,
        max_value=1_000_000,
        required=False,
        help_text="One click per nut: six wheels with eight nuts make 48.",
    )
    mishap = forms.BooleanField(label="Dropped or overloaded since", required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(
        self, *args: Any, kind: str, tool: Tool | None = None, **kwargs: Any
    ) -> None:
        wanted = NEEDED_BY[ToolKind(kind)]
        if tool is not None:
            kwargs["initial"] = {name: getattr(tool, name) for name in wanted}
        super().__init__(*args, **kwargs)
        for name in set(self.fields) - set(wanted):
            del self.fields[name]
        unit = self.data.get("unit") or self.initial.get("unit")
        for name in ("lowest_mark", "full_scale"):
            if name in self.fields and unit in ScaleUnit.values:
                self.fields[name].unit = unit

    def clean_cycles(self) -> int:
        return self.cleaned_data["cycles"] or 0


class SupplyForm(forms.Form):
    name = forms.CharField(
        label="Name", max_length=80, help_text="Oil filter, thread tape …"
    )
    part_number = forms.CharField(label="Part number", max_length=40, required=False)
    unit = forms.ChoiceField(label="Unit", choices=StockUnit.choices)
    stock = NumberField(
        label="In stock",
        min_value=0,
        max_digits=8,
        decimal_places=2,
        required=False,
        help_text="Leave blank for things you always have and don't count.",
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(self, *args: Any, supply: Supply | None = None, **kwargs: Any) -> None:
        if supply is not None:
            names = ("name", "part_number", "unit", "stock", "note")
            kwargs["initial"] = {name: getattr(supply, name) for name in names}
        super().__init__(*args, **kwargs)


class BuyForm(forms.Form):
    amount = NumberField(
        label="How much are you adding?",
        min_value=Decimal("0.01"),
        max_digits=8,
        decimal_places=2,
    )
