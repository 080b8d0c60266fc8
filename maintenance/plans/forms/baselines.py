"""What was done before: every item that is asked for, on one form."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.dates import add_months
from maintenance.households.refusals import Refused
from maintenance.plans.asking import Asked
from maintenance.plans.drafts import system_title
from maintenance.plans.fields import WhenField
from maintenance.plans.models import PlanItem
from maintenance.plans.services import Answer, check_answer
from maintenance.plans.when import When, back_to
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.gate import Typed, judge
from maintenance.vehicles.gate_forms import GatedForm, MeterField, question_of
from maintenance.vehicles.models import Meter, Rig

# A field of one question about an item, by its number.
OF_ITEM = re.compile(r"(?:when|value|other)_[a-z]+([0-9]{1,9})")
LATER = ("", "ask me later")
NEVER = ("never", "never, since new")
UNKNOWN = ("unknown", "not known")
MADE = ("", "made then")
ENDS = ("ends", "expires then")
OFTEN = "Comes up every three months or less"
FACT = "baseline"  # it corrects no reading of its day
CHOICES = {
    "done": [LATER, NEVER, UNKNOWN],
    "paper": [LATER, UNKNOWN],
    "life": [MADE, ENDS, UNKNOWN],
}


@dataclass(frozen=True, slots=True)
class BaselineRow:
    asked: Asked
    when: forms.BoundField
    value: forms.BoundField | None
    other: forms.BoundField
    question: forms.BoundField | None = None  # what the gate asks about the value

    @property
    def fields(self) -> list[forms.BoundField]:
        return [one for one in (self.when, self.value, self.other) if one is not None]


@dataclass(frozen=True, slots=True)
class BaselineGroup:
    title: str
    rows: list[BaselineRow]
    opened: bool


class BaselinesForm(GatedForm):
    """Three fields an item: when, at which reading, or what else there is to say. A
    reading that does not fit the others is asked about at its field."""

    rest_unknown = forms.BooleanField(
        label="I don't know the blank ones: don't ask again",
        required=False,
    )

    def __init__(
        self, *args: Any, rig: Rig, asked: Iterable[Asked], today: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.rig, self.today, self.asked = rig, today, list(asked)
        self.meters = {meter.kind: meter for meter in rig.meters.all()}
        for one in self.asked:
            self._add(one)

    def _add(self, one: Asked) -> None:
        title = one.item.title
        self.fields[f"when_{one.id}"] = WhenField(
            label=f"{title}: {one.question}", required=False
        )
        if one.meter:
            self.fields[f"value_{one.id}"] = MeasureField(
                label=f"{title}: at which reading",
                unit=one.unit,
                required=False,
            )
        self.fields[f"other_{one.id}"] = forms.ChoiceField(
            label=f"{title}: or",
            choices=CHOICES[one.kind],
            required=False,
        )

    # --- as answers -------------------------------------------------------------------

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        self.answers: list[tuple[PlanItem, Answer]] = []
        for words in self._overtaken():
            self.add_error(None, words)
        for one in self.asked:
            try:
                answer = self._answer(one, data)
                if answer is not None:
                    check_answer(one.item, answer, today=self.today)
                    self.answers.append((one.item, answer))
            except Refused as refusal:
                where = refusal.field or "when"
                name = where if where in self.fields else f"{where}_{one.id}"
                self.add_error(name, refusal.text)
        return data

    def _overtaken(self) -> Iterator[str]:
        """What was typed of items that somebody answered or dropped meanwhile; they are
        asked no more."""
        typed: dict[int, list[str]] = {}
        for name, value in self.data.items():
            found = OF_ITEM.fullmatch(name)
            if found and name not in self.fields and str(value).strip():
                typed.setdefault(int(found[1]), []).append(str(value)[:24])
        for item in PlanItem.objects.filter(rig=self.rig, pk__in=typed):
            yield (
                f"“{item}” was answered or removed from the plan meanwhile. "
                f"You typed: {', '.join(typed[item.pk])}. To change it, open "
                "its page. Save again "
                "to keep the rest."
            )

    def _answer(self, one: Asked, data: dict[str, Any]) -> Answer | None:
        if any(name.endswith(f"_{one.id}") for name in self.errors):
            return None
        when: When | None = data.get(f"when_{one.id}")
        value: Decimal | None = data.get(f"value_{one.id}")
        other = data.get(f"other_{one.id}", "")
        if other in {"never", "unknown"}:
            if when is not None or value is not None:
                raise Refused("Enter a date or choose the other answer, not both.")
            return Answer(other)
        if when is None:
            return self._without_day(value, other, data)
        if one.kind == "life":
            return _life_answer(one, when, ends=other == "ends")
        if one.kind == "paper":
            return Answer("done", _paper_anchor(one, when, self.today))
        on = self._first_in_service(when)
        return Answer("done", on, self._values(one, on, when.last, value))

    def _values(
        self, one: Asked, on: date, last: date, value: Decimal | None
    ) -> dict[str, Decimal]:
        """What its meter showed, as it was meant; of what is kept as questionable the
        readings tell. Of a month or a year it has to fit one day."""
        meter = self.meters.get(one.meter)
        if value is None or meter is None or on > self.today:
            return {}
        name = f"value_{one.id}"
        days = _days_to_fit(meter, value, on, min(last, self.today))
        fits = (day for day in days if judge(_typed(meter, day, value)).fits)
        asked = MeterField(name, meter, next(fits, on))
        figure = self.figures([asked], today=self.today, fact=FACT)[name]
        return {} if figure.questionable else {one.meter: figure.value}

    def _without_day(
        self, value: Decimal | None, other: str, data: dict[str, Any]
    ) -> Answer | None:
        if value is not None or other:
            raise Refused("Enter the date too; a year is enough, like 2024.")
        return Answer("unknown") if data.get("rest_unknown") else None

    def _first_in_service(self, when: When) -> date:
        """What is known as a month or a year counts from its first day in service: so
        it falls due early, not late."""
        entered = self.rig.in_service_on
        return entered if when.first < entered <= when.last else when.first

    # --- on the page ------------------------------------------------------------------

    @property
    def groups(self) -> list[BaselineGroup]:
        """Safety first and open, then the systems, last what comes round often."""
        by_title: dict[str, list[BaselineRow]] = {}
        for one in self.asked:
            by_title.setdefault(_title(one), []).append(self._row(one))
        often = by_title.pop(OFTEN, None)
        if often:
            by_title[OFTEN] = often  # last
        return [
            BaselineGroup(title, rows, number == 0 or any(map(_has_errors, rows)))
            for number, (title, rows) in enumerate(by_title.items())
        ]

    def _row(self, one: Asked) -> BaselineRow:
        question = question_of(f"value_{one.id}")
        return BaselineRow(
            asked=one,
            when=self[f"when_{one.id}"],
            value=self[f"value_{one.id}"] if one.meter else None,
            other=self[f"other_{one.id}"],
            question=self[question] if question in self.fields else None,
        )


def _typed(meter: Meter, on: date, value: Decimal) -> Typed:
    return Typed(meter, on, value, fact=FACT)


def _days_to_fit(meter: Meter, value: Decimal, first: date, last: date) -> list[date]:
    """The days of a span on which a value is likeliest: its ends, and the middle of the
    time between the reading below it and the one above."""
    rows = meter.readings.filter(on__range=(first, last), withdrawn=False)
    days = rows.filter(doubtful=False).order_by("on").values_list("on", "value")
    low = max((on for on, shown in days if shown <= value), default=first)
    high = min((on for on, shown in days if shown > value), default=last)
    return [first, last, low + (max(high, low) - low) / 2]


def _title(one: Asked) -> str:
    if one.often:
        return OFTEN
    return "Safety" if one.item.safety else system_title(one.item.system)


def _has_errors(row: BaselineRow) -> bool:
    return any(field.errors for field in row.fields)


def _paper_anchor(one: Asked, when: When, today: date) -> date:
    """The last day on which the paper ran out; one that is still good ran out whole
    intervals before."""
    if when.first.month != when.last.month:
        raise Refused("Enter the date on it, or at least the month, like 5/2024.")
    return back_to(when.last, one.months, today)


def _life_answer(one: Asked, when: When, *, ends: bool) -> Answer:
    """A life that is known by its end began that long before."""
    if not ends:
        return Answer("made", start=when.start)
    start = add_months(when.first, -one.months).isoformat()
    return Answer("made", start=start[: len(when.start)])
