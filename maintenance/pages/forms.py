"""The form of work done: days, readings, lines, wheels, cost, proof."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, cast

from django import forms

from maintenance.core.facts import TOW_ODOMETER
from maintenance.households.refusals import Refused
from maintenance.plans.models import ItemSupply, Outcome, PlanItem
from maintenance.service_records.models import DoneBy, FigureOrigin, TorqueUnit
from maintenance.service_records.torque import Fastener, Wheels
from maintenance.service_records.wheels_told import WheelWork
from maintenance.service_records.work import Costs, Line, Take
from maintenance.supplies.models import Supply, Tool
from maintenance.supplies.stock import stock_words
from maintenance.supplies.wrenches import range_words
from maintenance.ui.forms import (
    LONGEST_ID,
    DayInput,
    FilesField,
    MultipleFiles,
    TokenField,
)
from maintenance.ui.number_fields import MeasureField, NumberField
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import GatedForm, MeterField
from maintenance.vehicles.models import WHEEL_PLACES, Meter, MeterKind, Rig
from maintenance.vehicles.road_form import tow_field

from .invoice_forms import AMOUNTS, SUMMED, amount_field

FASTENERS = 3  # rows for fasteners that are no wheel
OFF_THE_PLAN = (
    "This job was taken off the plan while you typed. Choose another, or type what "
    "was done."
)
TICKED, ALL, NONE = "ticked", "all", "none"  # which wheels were off, once it is asked


class RecordForm(GatedForm):
    """All of a record but its lines and wheels."""

    form_token = TokenField()
    on = forms.DateField(label="Done on", widget=DayInput)
    until = forms.DateField(
        label="Or no later than",
        widget=DayInput,
        required=False,
        help_text="Only if you don't know the day: the latest it could be.",
    )
    done_by = forms.ChoiceField(label="Done by", choices=DoneBy.choices)
    doer = forms.CharField(label="Name of the person or shop", max_length=80)
    place = forms.CharField(label="Where", max_length=80, required=False)
    notes = forms.CharField(
        label="Notes", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    uploads = FilesField(
        label="Photos or PDF of the invoice",
        required=False,
        widget=MultipleFiles(attrs={"accept": "image/*,.heic,.heif,application/pdf"}),
        help_text=(
            "JPEG, PNG, WebP, HEIC, or PDF, up to 20 MB each. We remove location "
            "and camera details."
        ),
    )
    same = forms.CharField(
        label="Is this the same work?", required=False, widget=forms.RadioSelect
    )
    asks_same = False

    def __init__(
        self,
        *args: Any,
        rig: Rig,
        meters: Iterable[Meter],
        tow: Meter | None = None,
        **kwargs: Any,
    ):
        """`tow`: the odometer of what tows the rig just then."""
        super().__init__(*args, **kwargs)
        self.meters: dict[str, Meter] = {
            m.kind: m for m in meters if (m.kind != MeterKind.TOWED or rig.is_trailer)
        }
        if tow is not None:
            self.meters[TOW_ODOMETER] = tow
        for name, meter in self.meters.items():
            self.fields[f"meter_{name}"] = (
                tow_field(rig, meter)
                if name == TOW_ODOMETER
                else MeasureField(
                    label=f"{meter} showed", unit=meter.unit, required=False
                )
            )
        for name, label in AMOUNTS.items():
            help_text = "Leave blank to use the sum." if name in SUMMED else ""
            self.fields[name] = amount_field(label, help_text)

    def check_at(self, url: str) -> None:
        """What a meter shows is checked as it is typed, where there is script."""
        for name in self.meters:
            self.fields[f"meter_{name}"].widget.attrs |= {
                "data-hx-post": url,
                "data-hx-trigger": "input changed delay:700ms",
                "data-hx-vals": f'{{"check": "{name}"}}',
                "data-hx-target": f"#said-meter_{name}",
                "data-hx-swap": "outerHTML",
                "data-hx-params": "not uploads",
            }

    def said_of(self, name: str, today: date) -> str:
        """What is wrong with one meter's figure; empty for nothing."""
        field = f"meter_{name}"
        self.full_clean()
        if field in self.errors:
            return " ".join(map(str, self.errors[field]))
        if "on" in self.errors or self.cleaned_data.get("until"):
            return ""
        try:
            self.as_meant(today, {name: self.meters[name]})
        except Refused as refusal:
            return refusal.text
        return ""

    def meter_fields(self) -> list[forms.BoundField]:
        return self.with_questions(f"meter_{name}" for name in self.meters)

    def money_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in AMOUNTS]

    def ask_same(self, choices: list[tuple[str, str]]) -> None:
        """Whether this was logged already is asked once."""
        self.fields["same"].widget.choices = choices
        self.asks_same = True

    def values(self) -> dict[str, Decimal]:
        """As they were typed."""
        given = {name: self.cleaned_data[f"meter_{name}"] for name in self.meters}
        return {kind: value for kind, value in given.items() if value is not None}

    def as_meant(
        self, today: date, meters: Mapping[str, Meter], instead_of: Iterable[int] = ()
    ) -> dict[str, Figure]:
        """What these meters showed. A figure of a span belongs to none of its days, so
        it is compared with none."""
        if self.cleaned_data["until"]:
            return {}
        on = self.cleaned_data["on"]
        asked = [
            MeterField(f"meter_{name}", meter, on) for name, meter in meters.items()
        ]
        return self.figures(asked, today=today, fact="record", instead_of=instead_of)

    def columns(self) -> dict[str, Any]:
        names = ("on", "until", "done_by", "doer", "place", "notes")
        return {name: self.cleaned_data[name] for name in names}

    def costs(self) -> Costs:
        return Costs(**{name: self.cleaned_data[name] for name in AMOUNTS})


class LineForm(forms.Form):
    """One job: an item of the plan or free words, and how it went."""

    item = forms.ModelChoiceField(
        label="Job on the plan",
        queryset=PlanItem.objects.none(),
        required=False,
        empty_label="— another job, in your words —",
        error_messages={"invalid_choice": OFF_THE_PLAN},
    )
    title = forms.CharField(label="Or in your words", max_length=120, required=False)
    outcome = forms.ChoiceField(label="How it went", choices=Outcome.choices)
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(
        self, *args: Any, items: Any, by_title: bool = False, **kwargs: Any
    ) -> None:
        """`by_title`: words that are the title of a job on the plan mean that job."""
        super().__init__(*args, **kwargs)
        item = self.fields["item"]
        item.queryset = items
        # Read once for all lines of the form, which share `items`.
        item.choices = [("", item.empty_label), *((x.pk, x.title) for x in items)]
        self.by_title = by_title

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        outcome = data.get("outcome")
        if outcome == Outcome.NOT_DONE and not data.get("note"):
            self.add_error("note", "Enter why it wasn't done, like “no time”.")
        if outcome == Outcome.FAULT_FOUND and not data.get("note"):
            self.add_error("note", "Enter what's wrong, like “left side leaks”.")
        return data

    @property
    def words(self) -> str:
        """The job as it stands in the form: its title on the plan, or the words."""
        item = self["item"].value()
        if isinstance(item, PlanItem):
            return item.title
        if item and str(item).isdecimal() and len(str(item)) <= LONGEST_ID:
            found = self.fields["item"].queryset.filter(pk=item).first()
            return found.title if found else ""
        return str(self["title"].value() or "").strip()

    def line(self) -> Line | None:
        """None when nothing was filled in."""
        data = self.cleaned_data
        item, words = data.get("item"), data.get("title", "").strip()
        if item is None and not words:
            return None
        if item is None and self.by_title:
            item = self.fields["item"].queryset.filter(title__iexact=words).first()
        title = item.title if item else words
        return Line(title, item, data["outcome"], data.get("note", ""))


class BaseLines(forms.BaseFormSet):
    def lines(self) -> list[Line]:
        return [line for form in self.forms if (line := form.line())]


def lines_formset(extra: int) -> type[BaseLines]:
    made = forms.formset_factory(LineForm, formset=BaseLines, extra=extra, max_num=60)
    return cast(type[BaseLines], made)


class ToolField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.name} ({range_words(obj)})"


class WheelsForm(forms.Form):
    """Which wheels were off, the figure and where it is from, what each reached."""

    asks = False  # which wheels were off is a question of its own
    checks = False  # the job is a check of nuts, which held or moved

    figure = MeasureField(label="Specified torque", unit="ft·lbf", required=False)
    unit = forms.ChoiceField(label="Unit", choices=TorqueUnit.choices)
    origin = forms.ChoiceField(
        label="The figure is from",
        choices=[("", "—"), *FigureOrigin.choices],
        required=False,
    )
    makers_figure = MeasureField(
        label="The manufacturer's figure",
        unit="ft·lbf",
        required=False,
        help_text="Only if you used a different figure. Both stay on record.",
    )
    oiled = forms.BooleanField(label="Threads were oiled", required=False)
    tool = ToolField(label="Wrench", queryset=Tool.objects.none(), required=False)
    wrench = forms.CharField(
        label="Or a wrench that isn't yours", max_length=80, required=False
    )
    which = forms.ChoiceField(
        label="Which wheels were off?",
        required=False,
        choices=[
            (TICKED, "The ones checked below"),
            (ALL, "All of them"),
            (NONE, "No wheel was off"),
        ],
        widget=forms.RadioSelect,
    )
    short = forms.BooleanField(
        label="Torque stayed below the figure, and that's correct", required=False
    )

    def __init__(self, *args: Any, rig: Rig, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.places = rig.places
        unit = self.data.get(self.add_prefix("unit")) or TorqueUnit.FOOT_POUNDS
        self.fields["figure"].unit = self.fields["makers_figure"].unit = unit
        self.fields["tool"].queryset = Tool.objects.for_household(rig.household).filter(
            kind="torque_wrench"
        )
        for place in self.places:
            self.fields[f"off_{place}"] = forms.BooleanField(required=False)
            self.fields[f"held_{place}"] = forms.BooleanField(required=False)
            self.fields[f"moved_{place}"] = forms.BooleanField(required=False)
            self.fields[f"reached_{place}"] = MeasureField(unit=unit, required=False)
        for n in range(FASTENERS):
            self._add_fastener(n, unit)

    def _add_fastener(self, n: int, unit: str) -> None:
        name = forms.CharField(label="Fastener", max_length=60, required=False)
        self.fields[f"name_{n}"] = name
        for what, label in (("own", "Its own figure"), ("got", "Reached")):
            field = MeasureField(label=label, unit=unit, required=False)
            self.fields[f"{what}_{n}"] = field
        self.fields[f"turned_{n}"] = forms.BooleanField(required=False)

    @property
    def rest_told(self) -> bool:
        """Whether what is seldom told was told, or is wrong."""
        names = ["makers_figure", "oiled", "wrench"]
        names += [f"{x}_{n}" for x in ("name", "own", "got") for n in range(FASTENERS)]
        wrong = self.is_bound and any(name in self.errors for name in names)
        return wrong or any(self[name].value() for name in names)

    def fastener_rows(self) -> list[dict[str, forms.BoundField]]:
        names = ("name", "own", "got", "turned")
        return [{x: self[f"{x}_{n}"] for x in names} for n in range(FASTENERS)]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for n in range(FASTENERS):
            given = [data.get(f"{what}_{n}") for what in ("own", "got", "turned")]
            if any(given) and not data.get(f"name_{n}"):
                self.add_error(
                    f"name_{n}", "Enter which fastener it is, like “drain plug”."
                )
        for place in self.places:
            if data.get(f"held_{place}") and data.get(f"moved_{place}"):
                words = WHEEL_PLACES[place].capitalize()
                self.add_error(
                    f"held_{place}", f"{words}: check Held or Moved, not both."
                )
        return data

    def _fasteners(self) -> list[Fastener]:
        data = self.cleaned_data
        return [
            Fastener(name, data[f"own_{n}"], data[f"got_{n}"], data[f"turned_{n}"])
            for n in range(FASTENERS)
            if (name := data[f"name_{n}"])
        ]

    def rows(self) -> list[tuple[str, Any, dict[str, forms.BoundField]]]:
        """Per wheel: its place, in words, and its fields."""
        return [
            (
                place,
                WHEEL_PLACES[place],
                {
                    name: self[f"{name}_{place}"]
                    for name in ("off", "reached", "held", "moved")
                },
            )
            for place in self.places
        ]

    def answers(self, work: WheelWork | None) -> bool:
        """False after asking which wheels were off, once it turns out some were."""
        if work is None:
            return True
        said = self.cleaned_data["which"]
        if self._ticked("off") or said == ALL or (said == NONE and not work.surely):
            return True
        if work.surely:
            field = self.fields["which"]
            field.choices = [pair for pair in field.choices if pair[0] != NONE]
        self.asks = True
        self.add_error("which", work.question)
        return False

    def _off(self) -> frozenset[str]:
        ticked = self._ticked("off")
        if not ticked and self.cleaned_data["which"] == ALL:
            return frozenset(self.places)
        return ticked

    def wheels(self) -> Wheels:
        data = self.cleaned_data
        return Wheels(
            off=self._off(),
            figure=data["figure"],
            unit=data["unit"],
            origin=data["origin"],
            oiled=data["oiled"],
            tool=data["tool"],
            wrench=data["wrench"],
            makers_figure=data["makers_figure"],
            fasteners=self._fasteners(),
            short_is_right=data["short"],
            reached=self._reached(),
            held=self._ticked("held"),
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

    def _field(self, supply: Supply) -> NumberField:
        return NumberField(
            label=str(supply),
            required=False,
            min_value=0,
            max_digits=8,
            decimal_places=2,
            help_text=f"In {supply.get_unit_display()}; {stock_words(supply)}.",
        )

    def takes(self) -> list[Take]:
        given = ((name, self.cleaned_data.get(name)) for name in self.supplies)
        return [Take(self.supplies[name], n) for name, n in given if n]
