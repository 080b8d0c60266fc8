"""The form of work done: days, readings, lines, wheels, cost, proof."""

import uuid
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from maintenance.core.units import UnitError, parse_number
from maintenance.plans.event_words import EVENT_WORDS
from maintenance.plans.models import ItemSupply, Outcome, PlanItem
from maintenance.service_records.models import DoneBy, FigureOrigin, TorqueUnit
from maintenance.service_records.services import Line, Take, Wheels
from maintenance.supplies.models import Supply
from maintenance.supplies.stock import stock_words
from maintenance.ui.forms import DayInput, FilesField, MultipleFiles, PageFormHelper
from maintenance.vehicles.fields import MeasureField, NumberField
from maintenance.vehicles.models import WHEEL_PLACES, Meter, MeterKind, Rig


class RecordForm(forms.Form):
    """All of a record but its lines and wheels."""

    form_token = forms.UUIDField(widget=forms.HiddenInput)
    on = forms.DateField(label=_("Done on"), widget=DayInput)
    until = forms.DateField(
        label=_("Or until"),
        widget=DayInput,
        required=False,
        help_text=_("Only when you do not know the day: between this and that."),
    )
    done_by = forms.ChoiceField(label=_("Done by"), choices=DoneBy.choices)
    doer = forms.CharField(label=_("Name of the person or shop"), max_length=80)
    place = forms.CharField(label=_("Where"), max_length=80, required=False)
    notes = forms.CharField(
        label=_("Notes"), required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    uploads = FilesField(
        label=_("Photos or PDF of the invoice"),
        required=False,
        widget=MultipleFiles(attrs={"accept": "image/*,application/pdf"}),
        help_text=_(
            "JPEG, PNG, WebP or PDF, up to 20 MB each. Place and camera are taken out."
        ),
    )
    doubt = forms.CharField(
        label=_("What is it?"), required=False, widget=forms.RadioSelect
    )
    asks = False

    def __init__(self, *args: Any, rig: Rig, meters: Iterable[Meter], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.initial.setdefault("form_token", uuid.uuid4())
        self.meters = [m for m in meters if m.kind != MeterKind.TOWED or rig.is_trailer]
        for meter in self.meters:
            self.fields[f"meter_{meter.kind}"] = MeasureField(
                label=_("%(meter)s showed") % {"meter": meter},
                unit=meter.unit,
                required=False,
            )
        for name, label in AMOUNTS.items():
            self.fields[name] = AmountField(label)
        self.helper = PageFormHelper()

    def meter_fields(self) -> list[forms.BoundField]:
        return [self[f"meter_{meter.kind}"] for meter in self.meters]

    def money_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in AMOUNTS]

    def ask(self, choices: list[tuple[str, str]]) -> None:
        """A doubtful reading is asked about once."""
        self.fields["doubt"].widget.choices = choices
        self.asks = True

    def values(self) -> dict[str, Decimal]:
        given = {m.kind: self.cleaned_data[f"meter_{m.kind}"] for m in self.meters}
        return {kind: value for kind, value in given.items() if value is not None}

    def columns(self) -> dict[str, Any]:
        names = ("on", "until", "done_by", "doer", "place", "notes", *AMOUNTS)
        return {name: self.cleaned_data[name] for name in names}


class AmountField(forms.DecimalField):
    """An amount of money, with comma or point."""

    def __init__(self, label: Any) -> None:
        super().__init__(
            label=label,
            required=False,
            min_value=0,
            max_digits=10,
            decimal_places=2,
            widget=forms.TextInput(
                attrs={"inputmode": "decimal", "autocomplete": "off"}
            ),
        )

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and value.strip():
            try:
                return parse_number(value)
            except UnitError as error:
                raise ValidationError(str(error)) from None
        return super().to_python(value)


AMOUNTS = {
    "labor": _("Labor"),
    "parts": _("Parts"),
    "tax": _("Tax"),
    "total": _("Total"),
}


class LineForm(forms.Form):
    """One job: an item of the plan or free words, and how it went."""

    item = forms.ModelChoiceField(
        label=_("Job on the plan"),
        queryset=PlanItem.objects.none(),
        required=False,
        empty_label=_("— another job, in words —"),
    )
    title = forms.CharField(label=_("Or in words"), max_length=120, required=False)
    outcome = forms.ChoiceField(label=_("How it went"), choices=Outcome.choices)
    note = forms.CharField(label=_("Note"), max_length=300, required=False)

    def __init__(self, *args: Any, items: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["item"].queryset = items

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        outcome = data.get("outcome")
        if outcome == Outcome.NOT_DONE and not data.get("note"):
            self.add_error("note", _("Say why it was not done."))
        if outcome == Outcome.FAULT_FOUND and not data.get("note"):
            self.add_error("note", _("Say what is not right."))
        return data

    def line(self) -> Line | None:
        """None when nothing was filled in."""
        data = self.cleaned_data
        item, words = data.get("item"), data.get("title", "").strip()
        if item is None and not words:
            return None
        title = item.title if item else words
        return Line(title, item, data["outcome"], data.get("note", ""))


class BaseLines(forms.BaseFormSet):
    def lines(self) -> list[Line]:
        return [line for form in self.forms if (line := form.line())]


def lines_formset(extra: int) -> type[BaseLines]:
    made = forms.formset_factory(LineForm, formset=BaseLines, extra=extra, max_num=40)
    return cast(type[BaseLines], made)


class WheelsForm(forms.Form):
    """Which wheels were off, the figure and where it is from, what each reached."""

    figure = MeasureField(label=_("Specified torque"), unit="ft·lbf", required=False)
    unit = forms.ChoiceField(label=_("Unit"), choices=TorqueUnit.choices)
    origin = forms.ChoiceField(
        label=_("The figure is from"),
        choices=[("", "—"), *FigureOrigin.choices],
        required=False,
    )
    oiled = forms.BooleanField(label=_("Threads were oiled"), required=False)
    wrench = forms.CharField(label=_("Wrench"), max_length=80, required=False)

    def __init__(self, *args: Any, rig: Rig, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.places = rig.places
        unit = self.data.get(self.add_prefix("unit")) or TorqueUnit.FOOT_POUNDS
        self.fields["figure"].unit = unit
        for place in self.places:
            self.fields[f"off_{place}"] = forms.BooleanField(required=False)
            self.fields[f"moved_{place}"] = forms.BooleanField(required=False)
            self.fields[f"reached_{place}"] = MeasureField(unit=unit, required=False)
        self.helper = PageFormHelper()

    def rows(self) -> list[tuple[str, Any, dict[str, forms.BoundField]]]:
        """Per wheel: its place, in words, and its three fields."""
        return [
            (
                place,
                WHEEL_PLACES[place],
                {name: self[f"{name}_{place}"] for name in ("off", "reached", "moved")},
            )
            for place in self.places
        ]

    def wheels(self) -> Wheels:
        data = self.cleaned_data
        return Wheels(
            off=self._ticked("off"),
            figure=data["figure"],
            unit=data["unit"],
            origin=data["origin"],
            oiled=data["oiled"],
            wrench=data["wrench"],
            reached=self._reached(),
            moved=self._ticked("moved"),
        )

    def _ticked(self, name: str) -> frozenset[str]:
        return frozenset(p for p in self.places if self.cleaned_data[f"{name}_{p}"])

    def _reached(self) -> Mapping[str, Decimal]:
        given = {p: self.cleaned_data[f"reached_{p}"] for p in self.places}
        return {place: value for place, value in given.items() if value is not None}


class SuppliesForm(forms.Form):
    """How much of each supply comes out of stock: one row for each that jobs use."""

    def __init__(
        self,
        *args: Any,
        uses: Iterable[ItemSupply],
        chosen: PlanItem | None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.supplies: dict[str, Supply] = {}
        for use in uses:
            name = f"take_{use.supply_id}"
            if name not in self.fields:
                self.supplies[name] = use.supply
                self.fields[name] = self._field(use.supply)
            if use.item == chosen:
                self.initial.setdefault(name, use.amount)
        self.helper = PageFormHelper()

    def _field(self, supply: Supply) -> NumberField:
        return NumberField(
            label=str(supply),
            required=False,
            min_value=0,
            max_digits=8,
            decimal_places=2,
            help_text=_("In %(unit)s; %(there)s.")
            % {"unit": supply.get_unit_display(), "there": stock_words(supply)},
        )

    def takes(self) -> list[Take]:
        given = ((name, self.cleaned_data.get(name)) for name in self.supplies)
        return [Take(self.supplies[name], n, name) for name, n in given if n]


class EventForm(forms.Form):
    kind = forms.ChoiceField(
        label=_("What happened"),
        choices=lambda: sorted(EVENT_WORDS.items(), key=lambda pair: str(pair[1])),
    )
    on = forms.DateField(label=_("On"), widget=DayInput)
    places = forms.MultipleChoiceField(
        label=_("At which wheels"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("None ticked means all, or that wheels have no part in it."),
    )
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, rig: Rig, meters: Iterable[Meter], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["places"].choices = [(p, WHEEL_PLACES[p]) for p in rig.places]
        self.meters = list(meters)
        for meter in self.meters:
            self.fields[f"meter_{meter.kind}"] = MeasureField(
                label=_("%(meter)s showed") % {"meter": meter},
                unit=meter.unit,
                required=False,
                help_text=_("Follow-ups by distance count from it."),
            )
        self.helper = PageFormHelper()
