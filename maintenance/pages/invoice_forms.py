"""What an invoice adds to work done: parts, sums, warranty, who signed."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, cast

from django import forms

from maintenance.service_records.work import Costs, Part, Warranty
from maintenance.ui.forms import DayInput
from maintenance.ui.number_fields import NumberField
from maintenance.vehicles.models import Meter

AMOUNTS = {
    "labor": "Labor",
    "parts": "Parts",
    "tax": "Tax",
    "total": "Total",
}
SUMMED = {"parts", "total"}  # left empty, they are the sum of what is given
MOST_ROWS = 60


def amount_field(label: Any, help_text: Any = "") -> NumberField:
    """An amount of money; nothing typed is nothing known."""
    return NumberField(
        label=label,
        required=False,
        min_value=0,
        max_digits=10,
        decimal_places=2,
        help_text=help_text,
    )


class PartForm(forms.Form):
    name = forms.CharField(label="Part", max_length=120, required=False)
    number = forms.CharField(label="Part number", max_length=60, required=False)
    quantity = NumberField(
        label="Quantity",
        required=False,
        min_value=Decimal("0.01"),
        max_digits=8,
        decimal_places=2,
    )
    price = amount_field("Price each")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not data.get("name") and any(data.values()):
            self.add_error("name", "Enter which part it is, like “oil filter”.")
        return data

    def part(self) -> Part | None:
        data = self.cleaned_data
        if not data.get("name"):
            return None
        quantity = data["quantity"] or Decimal(1)
        return Part(data["name"], data["number"], quantity, data["price"])


class BaseParts(forms.BaseFormSet):
    def parts(self) -> list[Part]:
        return [part for form in self.forms if (part := form.part())]


def parts_formset(extra: int) -> type[BaseParts]:
    made = forms.formset_factory(
        PartForm, formset=BaseParts, extra=extra, max_num=MOST_ROWS
    )
    return cast(type[BaseParts], made)


class WarrantyForm(forms.Form):
    """Until when the work is guaranteed, and who signed for it."""

    warranty_until = forms.DateField(
        label="Warranty until", widget=DayInput, required=False
    )
    warranty_value = NumberField(
        label="Or until the meter shows",
        required=False,
        min_value=0,
        max_digits=8,
        decimal_places=1,
    )
    warranty_covers = forms.CharField(
        label="What it covers",
        max_length=120,
        required=False,
        help_text="We'll remind you before it ends, in time for a claim.",
    )
    signed_off_by = forms.CharField(
        label="Signed off by",
        max_length=80,
        required=False,
        help_text="The person responsible for the work, if the invoice names one.",
    )
    credential = forms.CharField(
        label="License or certificate",
        max_length=80,
        required=False,
        help_text="Kind and number, as on the invoice.",
    )

    def __init__(self, *args: Any, meters: Iterable[Meter], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        names = [(m.kind, f"{m} ({m.get_unit_display()})") for m in meters]
        self.fields["warranty_meter"] = forms.ChoiceField(
            label="Which meter", choices=names, required=False
        )

    def warranty_fields(self) -> list[forms.BoundField]:
        names = ("until", "value", "meter", "covers")
        return [self[f"warranty_{name}"] for name in names]

    def warranty(self) -> Warranty:
        data = self.cleaned_data
        return Warranty(
            until=data["warranty_until"],
            meter=data["warranty_meter"],
            value=data["warranty_value"],
            covers=data["warranty_covers"],
        )


def with_sums(costs: Costs, parts: Sequence[Part]) -> Costs:
    """The costs, where parts and total that were left empty are summed up.

    Parts only where each has its price; a total only where labor or parts are known.
    """
    priced = [p.price * p.quantity for p in parts if p.price is not None]
    if costs.parts is None and priced and len(priced) == len(parts):
        spent = sum(priced, Decimal(0)).quantize(Decimal("0.01"))
        costs = replace(costs, parts=spent)
    if costs.total is None and (costs.labor, costs.parts) != (None, None):
        known = (costs.labor, costs.parts, costs.tax)
        total = sum((n for n in known if n is not None), Decimal(0))
        costs = replace(costs, total=total)
    return costs
