"""A procedure of the household's own, with the fields that the library's have."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from maintenance.core.units import UnitError
from maintenance.library.model import Measure, Procedure
from maintenance.library.reading import load_library
from maintenance.plans.event_words import EVENT_WORDS
from maintenance.plans.figures import limits_in_words, number
from maintenance.plans.models import OwnProcedure
from maintenance.plans.own_procedures import as_procedure
from maintenance.plans.rule_data import rules_on
from maintenance.plans.services import as_library_rules

from .fields import figure_of, unit_of
from .rules import RulesForm

WHO = [
    ("owner", "You"),
    ("practiced_owner", "You, if handy"),
    ("shop", "Shop"),
]
PLAIN = (
    "title",
    "system",
    "why",
    "who",
    "minutes",
    "safety",
    "unfit",
    "unfit_when_overdue",
    "anchored",
    "once",
    "cautions",
    "steps",
    "tools",
    "supplies",
    "raises",
    "renews",
    "measures",
)


class LinesField(forms.CharField):
    """One entry a line."""

    def __init__(self, *, rows: int = 3, **kwargs: Any) -> None:
        widget = forms.Textarea(attrs={"rows": rows})
        super().__init__(max_length=4000, widget=widget, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> list[str]:
        lines = (line.strip() for line in super().clean(value).splitlines())
        found = [line for line in lines if line]
        if len(set(found)) < len(found):
            raise ValidationError("A line is there twice. Remove one.")
        return found


class MeasuresField(LinesField):
    """`Torque: 90-120 ft-lb`, `Voltage: at least 12.4 V`, `Gap: in`, one a line."""

    def clean(self, value: Any) -> list[Any]:
        return [_measure(line) for line in super().clean(value)]


def _measure(line: str) -> dict[str, str | None]:
    name, colon, figure = (part.strip() for part in line.partition(":"))
    if not (name and colon and figure):
        raise ValidationError(f"“{line}”: enter it like Torque: 90-120 ft-lb.")
    try:
        return {"name": name, **_limits(figure)}
    except UnitError as error:
        raise ValidationError(f"{name}: {error}") from None


def _limits(text: str) -> dict[str, str | None]:
    if not any(sign.isdigit() for sign in text):
        return {"unit": unit_of(text), "low": None, "high": None}
    for words, limit in (("at least ", "low"), ("at most ", "high")):
        if text.startswith(words):
            found = figure_of(text.removeprefix(words))
            bounds: dict[str, str | None] = {"low": None, "high": None}
            return {"unit": found.unit, **bounds, limit: number(found.value)}
    found = figure_of(text)
    if found.up_to is None:
        raise UnitError("Enter at least, at most, or a range like 90-120.")
    return {
        "unit": found.unit,
        "low": number(found.value),
        "high": number(found.up_to),
    }


class OwnProcedureForm(RulesForm):
    title = forms.CharField(label="Title", max_length=120)
    system = forms.ChoiceField(label="System")
    why = forms.CharField(
        label="Why it matters",
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    who = forms.ChoiceField(label="Who does it", choices=WHO)
    minutes = forms.IntegerField(
        label="Minutes", min_value=0, max_value=1440, initial=30
    )
    safety = forms.BooleanField(
        label="Safety: not doing it can hurt people", required=False
    )
    unfit = forms.CharField(
        label="What you might find that makes the rig unfit to travel",
        max_length=200,
        required=False,
    )
    unfit_when_overdue = forms.BooleanField(
        label="The rig is unfit to travel while this is overdue", required=False
    )
    cautions = LinesField(
        label="Cautions",
        required=False,
        help_text=(
            "One per line, shown before the steps. Needed where the work can hurt you."
        ),
    )
    steps = LinesField(label="Steps", rows=6, help_text="One per line.")
    tools = LinesField(
        label="Tools",
        required=False,
        help_text="One per line.",
    )
    supplies = LinesField(
        label="Supplies",
        required=False,
        help_text="One per line.",
    )
    measures = MeasuresField(
        label="Measurements",
        required=False,
        help_text=(
            "One per line, like Torque: 90-120 ft-lb, or Voltage: at least 12.4 V."
        ),
    )
    raises = forms.MultipleChoiceField(
        label="Doing it means this happened",
        choices=sorted(EVENT_WORDS.items()),
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="Recording it then adds the follow-up jobs.",
    )
    renews = forms.MultipleChoiceField(
        label="This job also covers",
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    anchored = forms.BooleanField(
        label="A paper: it expires on its own date, even if done late or early",
        required=False,
    )
    once = forms.BooleanField(label="Only once, then it's finished", required=False)
    when_needed = forms.BooleanField(
        label="Only when needed, on no schedule", required=False
    )

    def __init__(
        self,
        data: Any = None,
        *,
        meters: Mapping[str, str],
        items: Iterable[tuple[str, str]],
        own: OwnProcedure | None = None,
    ) -> None:
        procedure = as_procedure(own) if own else None
        rules = rules_on(procedure, meters) if procedure else []
        start = _start(own, procedure)
        super().__init__(data, meters=meters, rules=rules, initial=start)
        systems = [(one.key, one.title) for one in load_library().systems.values()]
        _set_choices(self.fields["system"], systems)
        _set_choices(self.fields["renews"], list(items))

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if not self.errors and bool(self.rules) == bool(data.get("when_needed")):
            self.add_error(
                "when_needed",
                "Enter at least one rule, or tick “Only when needed”."
                if not self.rules
                else "Enter rules or tick “Only when needed”, not both.",
            )
        return data

    def procedure(self) -> dict[str, Any]:
        """The columns of an own procedure."""
        return {
            **{name: self.cleaned_data[name] for name in PLAIN},
            "triggers": as_library_rules(self.rules),
        }


def _start(own: OwnProcedure | None, procedure: Procedure | None) -> dict[str, Any]:
    if own is None or procedure is None:
        return {"system": "interior-safety"}
    measures = [_in_a_line(one) for one in procedure.measures]
    plain = {name: getattr(own, name) for name in PLAIN}
    return plain | {"measures": measures, "when_needed": not own.triggers}


def _in_a_line(measure: Measure) -> str:
    return f"{measure.name}: {limits_in_words(measure) or measure.unit}"


def _set_choices(field: forms.Field, choices: list[tuple[str, str]]) -> None:
    if isinstance(field, forms.ChoiceField):
        field.choices = choices
