"""What an item uses up, and what plans ask for."""

from decimal import Decimal
from typing import Any

from django import forms

from maintenance.plans.models import PlanItem
from maintenance.supplies.models import StockUnit, Supply
from maintenance.ui.forms import Fold, Layout
from maintenance.ui.number_fields import NumberField
from maintenance.work_sheets.needs import AskedFor


class UseForm(forms.Form):
    """Something on the list, or something new, and how much of it each time."""

    supply = forms.ModelChoiceField(
        label="On your list",
        queryset=Supply.objects.none(),
        required=False,
        empty_label="Something new (below)",
    )
    name = forms.CharField(label="New: name", max_length=80, required=False)
    part_number = forms.CharField(label="Part number", max_length=40, required=False)
    unit = forms.ChoiceField(label="Unit", choices=StockUnit.choices, required=False)
    stock = NumberField(
        label="In stock",
        min_value=0,
        max_digits=8,
        decimal_places=2,
        required=False,
        help_text="Leave blank for things you always have and don't count.",
    )
    amount = NumberField(
        label="Amount per job",
        min_value=Decimal("0.01"),
        max_digits=8,
        decimal_places=2,
        initial=1,
        help_text="Used each time, in its unit.",
    )

    def __init__(self, *args: Any, item: PlanItem, asked: str, **kwargs: Any) -> None:
        kwargs["initial"] = {"name": asked[:80]}
        super().__init__(*args, **kwargs)
        self.fields["supply"].queryset = Supply.objects.for_household(
            item.rig.household
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not data.get("supply") and not data.get("name"):
            self.add_error("name", "Choose something from your list, or enter a name.")
        return data


class AskedForForm(forms.Form):
    """Boxes for what is asked for and not on the list; a ticked one goes there."""

    tools = forms.MultipleChoiceField(
        label="Tools", widget=forms.CheckboxSelectMultiple, required=False
    )
    supplies = forms.MultipleChoiceField(
        label="Supplies",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="Ticked ones count as always there. Add stock where it matters.",
    )

    def __init__(self, *args: Any, asked: AskedFor, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tools"].choices = [(name, name) for name, _n in asked.tools]
        self.fields["supplies"].choices = [(name, name) for name, _n in asked.supplies]
        self.layout = Layout()
        for name in ("tools", "supplies"):
            field = self.fields[name]
            if field.choices:
                now = f"{len(field.choices)} not on your list"
                self.layout.append(Fold(str(field.label), name, now=now))
            else:
                del self.fields[name]
