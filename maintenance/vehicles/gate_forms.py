"""Forms with fields for what meters showed. Each value that does not fit is asked about
at its field, all of them at once, and what was typed stays."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django import forms

from maintenance.core import facts
from maintenance.households.refusals import Refused
from maintenance.ui.forms import Fieldset, Layout

from .gate import REPLACED, Doubt, Figure, Typed, answered, doubt_about, echo_words
from .gate import judge as judge_typed
from .models import Meter


@dataclass(frozen=True)
class MeterField:
    """A field of a form, the meter that it tells of and the day for which."""

    name: str
    meter: Meter
    on: date


class GatedForm(forms.Form):
    """The answer to the question at `meter_odometer` is `doubt_odometer`; the question
    is no field of the form until it is asked."""

    layout: Layout

    def figures(
        self,
        asked: Iterable[MeterField],
        *,
        today: date,
        fact: str = "",
        instead_of: Iterable[int] = (),
        needed: bool = False,
    ) -> dict[str, Figure]:
        """Field -> what was meant, for each field that was filled. Refused, after all
        that do not fit are asked about. What is still to come is judged by nobody: the
        service refuses it."""
        found: dict[str, Figure] = {}
        refused: list[Refused] = []
        beside: dict[int, list[facts.Reading]] = defaultdict(list)
        for one in asked:
            value = self.cleaned_data.get(one.name)
            if value is None:
                continue
            typed = Typed(
                one.meter,
                one.on,
                value,
                fact=fact,
                instead_of=tuple(instead_of),
                beside=tuple(beside[one.meter.pk]),
                needed=needed,
            )
            try:
                found[one.name] = self._figure(one.name, typed, today)
            except Refused as refusal:
                refused.append(refusal)
                continue
            beside[one.meter.pk].append(_beside(one, found[one.name].value, fact))
        for other in refused[1:]:
            self.add_error(other.field, other.text)
        if refused:
            raise refused[0]
        return found

    def _figure(self, name: str, typed: Typed, today: date) -> Figure:
        if typed.on > today:
            return Figure(typed.meter, typed.value)
        verdict = judge_typed(typed)
        doubt = doubt_about(verdict, typed)
        if doubt is None:
            return Figure(typed.meter, typed.value, echo=echo_words(verdict))
        answer = self._ask(name, doubt)
        if answer not in dict(doubt.choices):
            raise Refused(doubt.text, field=name)
        if answer == REPLACED:
            raise Refused(
                "First enter the new meter on the rig's page, under “Meter "
                "replaced”. Then enter this reading.",
                field=name,
            )
        return answered(typed, answer, verdict)

    def _ask(self, name: str, doubt: Doubt) -> str:
        """Put the question behind its field, with the answer that was given: it stays
        where something else is wrong."""
        question = question_of(name)
        if not hasattr(self, "layout"):
            self.layout = Layout(*self.fields)
        self.fields[question] = forms.ChoiceField(
            label="What is it?",
            choices=doubt.choices,
            required=False,
            widget=forms.RadioSelect,
        )
        _put_behind(self.layout, name, question)
        return str(self.data.get(self.add_prefix(question), ""))

    def with_questions(self, names: Iterable[str]) -> list[forms.BoundField]:
        """The fields of these names, each with its question where one is asked."""
        both = [one for name in names for one in (name, question_of(name))]
        return [self[name] for name in both if name in self.fields]


def question_of(name: str) -> str:
    """`doubt` for the one `value` of a form, `doubt_odometer` for `meter_odometer`."""
    rest = name.removeprefix("meter_")
    return "doubt" if rest == "value" else f"doubt_{rest}"


def _beside(one: MeterField, value: Decimal, fact: str) -> facts.Reading:
    """A value of the same form corrects none of its day."""
    return facts.Reading(one.on, value, fact=f"{fact} {one.name}".strip())


def _put_behind(names: Layout, name: str, question: str) -> bool:
    if question in names:
        return True
    if name in names:
        names.insert(names.index(name) + 1, question)
        return True
    inner = (one for one in names if isinstance(one, Fieldset))
    return any(_put_behind(one, name, question) for one in inner)


def values_of(figures: Mapping[str, Figure]) -> dict[str, Decimal]:
    """What is kept of it -> what it showed: the kind of the meter, or for that of a tow
    vehicle what its field is called."""
    return {_kept_as(name, one): one.value for name, one in figures.items()}


def confirmed_in(figures: Mapping[str, Figure]) -> frozenset[str]:
    return frozenset(_kept_as(n, one) for n, one in figures.items() if one.confirmed)


def questionable_in(figures: Mapping[str, Figure]) -> frozenset[str]:
    return frozenset(_kept_as(n, one) for n, one in figures.items() if one.questionable)


def _kept_as(name: str, one: Figure) -> str:
    kind = name.removeprefix("meter_")
    return one.meter.kind if kind == name else kind


def echoes_of(figures: Mapping[str, Figure]) -> list[str]:
    """What was typed, said back: one sentence for each meter."""
    return [f"{one.meter}: {one.echo}." for one in figures.values() if one.echo]
