"""Forms of bringing a history in."""

from collections.abc import Sequence
from typing import Any

from django import forms

from maintenance.core.tables import Field, day_of, number_of
from maintenance.core.words import counted
from maintenance.households.models import DistanceUnit, Household
from maintenance.plans.models import PlanItem
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig

from .imports.layout import Open

FIELD_WORDS: dict[Field, Any] = {
    "on": "The day (needed)",
    "what": "What was done (needed)",
    "until": "Last day, if it took several",
    "odometer": "Odometer",
    "engine": "Engine hours",
    "generator": "Generator hours",
    "doer": "Shop or person",
    "place": "Where",
    "invoice": "Invoice number: its rows become one record",
    "labor": "Labor cost",
    "parts": "Parts cost",
    "tax": "Tax",
    "total": "Total cost",
    "outcome": "How it went",
    "measured": "Measurements, like tread LF 5/32 in, RF 4/32 in",
    "note": "Job note",
    "notes": "Notes",
}


class BeginForm(forms.Form):
    rig = forms.ModelChoiceField(label="Which rig?", queryset=Rig.objects.none())
    file = forms.FileField(
        label="Spreadsheet",
        required=False,
        help_text="XLSX or CSV, up to 10 MB and 50,000 rows.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )
    text = forms.CharField(
        label="Or paste the rows",
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        max_length=10_000_000,
        help_text="Copied from a spreadsheet, with the column names.",
        strip=False,
    )

    def __init__(self, *args: Any, household: Household, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rigs = Rig.objects.for_household(household)
        self.fields["rig"].queryset = rigs
        if len(rigs) == 1:
            self.fields["rig"].initial = rigs[0]

    def clean(self) -> dict[str, Any] | None:
        data = super().clean() or {}
        both_or_none = bool(data.get("file")) == bool(data.get("text", "").strip())
        if both_or_none and not self.errors.keys() & {"file", "text"}:
            self.add_error("file", "Choose a file or paste rows, not both.")
        return data


class ColumnsForm(forms.Form):
    """One choice for each column of the table."""

    def __init__(
        self,
        *args: Any,
        names: Sequence[str],
        samples: Sequence[str],
        proposed: dict[int, Field],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", "Skip this column"), *FIELD_WORDS.items()]
        for n, (name, sample) in enumerate(zip(names, samples, strict=True)):
            self.fields[f"column_{n}"] = forms.ChoiceField(
                label=name[:80],
                choices=choices,
                required=False,
                initial=proposed.get(n, ""),
                help_text=sample,
            )

    @property
    def columns(self) -> dict[int, str]:
        return {
            int(name.removeprefix("column_")): holds
            for name, holds in self.cleaned_data.items()
        }


class AnswersForm(forms.Form):
    """What the table leaves open, and which job is which item of the plan."""

    def __init__(
        self,
        *args: Any,
        asked: Open,
        unit: str,
        jobs: dict[str, tuple[int, PlanItem | None]],
        items: Sequence[PlanItem],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.job_names = {f"job_{n}": words for n, words in enumerate(jobs)}
        self.items = {str(item.pk): item for item in items}
        self._ask(asked, unit)
        free = [("", "Keep as written, not on the plan")]
        choices = [*free, *((str(item.pk), item.title) for item in items)]
        for name, words in self.job_names.items():
            times, item = jobs[words]
            self.fields[name] = forms.ChoiceField(
                label=words[:120],
                choices=choices,
                required=False,
                initial=str(item.pk) if item else "",
                help_text="once" if times == 1 else f"{times} times",
            )

    def _ask(self, asked: Open, unit: str) -> None:
        if asked.days:
            self.fields["day_order"] = forms.ChoiceField(
                label="How are the days written?",
                widget=forms.RadioSelect,
                choices=[
                    ("mdy", f"Month first: {_shown_days(asked.days, 'mdy')}"),
                    ("dmy", f"Day first: {_shown_days(asked.days, 'dmy')}"),
                ],
            )
        if asked.numbers:
            self.fields["decimal_comma"] = forms.TypedChoiceField(
                label="How are the figures written?",
                widget=forms.RadioSelect,
                coerce=lambda value: value == "comma",
                choices=[
                    ("point", f"Decimal point: {_shown(asked.numbers, False)}"),
                    ("comma", f"Decimal comma: {_shown(asked.numbers, True)}"),
                ],
            )
        if asked.unit:
            self.fields["distance_unit"] = forms.ChoiceField(
                label="What does the odometer column count in?",
                widget=forms.RadioSelect,
                choices=DistanceUnit.choices,
                initial=unit or None,
            )

    def answers(self) -> dict[str, Any]:
        """As the service takes them."""
        data = dict(self.cleaned_data)
        picked = {n: data.pop(n) for n in self.job_names}
        jobs = {self.job_names[n]: self.items.get(pk) for n, pk in picked.items()}
        return {"jobs": jobs, **data}


def _shown_days(examples: Sequence[str], order: str) -> str:
    parts = []
    for text in examples:
        day = day_of(text, order="dmy" if order == "dmy" else "mdy")
        parts.append(f"{text} = {day_words(day)}" if day else f"{text} = no day")
    return "; ".join(parts)


def _shown(examples: Sequence[str], comma: bool) -> str:
    return "; ".join(
        f"{text} = {number_of(text, decimal_comma=comma)}" for text in examples
    )


class StartForm(forms.Form):
    doubtful = forms.TypedChoiceField(
        label="Questionable rows",
        widget=forms.RadioSelect,
        coerce=lambda value: value == "with",
        choices=[
            ("with", "Import them too, as they are"),
            ("without", "Skip them. I'll fix the file and send it again"),
        ],
    )

    wheels = forms.ChoiceField(
        label="Were wheels off?",
        widget=forms.RadioSelect,
        choices=[
            ("all", "Yes, all of them"),
            ("none", "No wheel was off"),
        ],
    )

    def __init__(
        self, *args: Any, doubtful: int, on_wheels: Sequence[str], **kwargs: Any
    ) -> None:
        """`on_wheels`: rows that tell in words of work that takes wheels off."""
        super().__init__(*args, **kwargs)
        if not doubtful:
            del self.fields["doubtful"]
        if not on_wheels:
            del self.fields["wheels"]
            return
        first = "; ".join(dict.fromkeys(on_wheels[:3]))
        rows = counted(len(on_wheels), "row")
        self.fields[
            "wheels"
        ].help_text = (
            f"{rows}, like: {first}. To choose single wheels, record it by hand."
        )


class VoidAllForm(forms.Form):
    why = forms.CharField(label="Why", max_length=200)
