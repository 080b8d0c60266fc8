"""The maker's figure of one item: where it stands, its interval, its figures."""

from collections.abc import Mapping
from typing import Any

from django import forms

from maintenance.library.model import Procedure
from maintenance.plans.figures import value_in_words
from maintenance.plans.models import MakerFigure, PlanItem, RulesFrom
from maintenance.plans.rule_data import Rules, canonical
from maintenance.plans.services import MakersValue

from .fields import MakersFigureField
from .rules import RulesForm

SPARE = 2  # empty lines for further figures


class MakerForm(RulesForm):
    document = forms.CharField(
        label="Manual or placard",
        max_length=120,
        help_text="Like “Chassis manual 2019” or “Door placard”.",
    )
    page = forms.CharField(label="Page", max_length=20, required=False)
    note = forms.CharField(
        label="What else it says",
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Like the grade of oil, or the order of the nuts.",
    )
    counts = forms.BooleanField(
        label="The rules below are from the manual: count by them",
        required=False,
    )

    def __init__(
        self,
        data: Any = None,
        *,
        item: PlanItem,
        maker: MakerFigure | None,
        procedure: Procedure | None,
        meters: Mapping[str, str],
    ) -> None:
        self._before = _sorted(canonical(item.triggers, item.key))
        start: dict[str, Any] = {"counts": item.rules_from == RulesFrom.MAKER}
        for name in ("document", "page", "note") if maker else ():
            start[name] = getattr(maker, name)
        names = _names(maker, procedure)
        for number, (name, figure) in enumerate(names):
            start |= {f"name{number}": name, f"figure{number}": figure}
        rules = item.triggers
        super().__init__(data, meters=meters, rules=rules, initial=start)
        self.figures = len(names) + SPARE
        for number in range(self.figures):
            self._add_figure(number)

    def _add_figure(self, number: int) -> None:
        self.fields[f"name{number}"] = forms.CharField(
            label=f"Figure {number + 1}: name",
            max_length=60,
            required=False,
        )
        self.fields[f"figure{number}"] = MakersFigureField(
            label=f"Figure {number + 1}, with its unit", required=False
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        self.values = [
            value for n in range(self.figures) if (value := self._value(n, data))
        ]
        # Whoever changes a rule here says that the book has it.
        changed = _sorted(self.rules) != self._before
        data["counts"] = bool(data.get("counts") or changed)
        if data["counts"] and not self.rules and not self.errors:
            self.add_error("counts", "Enter at least one rule, or untick this.")
        return data

    def _value(self, number: int, data: dict[str, Any]) -> MakersValue | None:
        name, figure = data.get(f"name{number}"), data.get(f"figure{number}")
        if figure is None:
            # A name that the procedure brings along may stand without a figure.
            typed = bool(name) and f"name{number}" in self.changed_data
            if typed and f"figure{number}" not in self.errors:
                self.add_error(
                    f"figure{number}", "Enter the figure with its unit, like 25 ft-lb."
                )
            return None
        if not name:
            self.add_error(
                f"name{number}", "Enter what the figure is for, like drain plug."
            )
            return None
        return MakersValue(name, figure.value, figure.unit, figure.up_to)

    @property
    def figure_lines(self) -> list[list[forms.BoundField]]:
        return [
            [self[f"name{number}"], self[f"figure{number}"]]
            for number in range(self.figures)
        ]

    def maker(self) -> dict[str, Any]:
        """The arguments of `set_maker_figure`."""
        data = self.cleaned_data
        return {
            "document": data["document"],
            "page": data["page"],
            "note": data["note"],
            "values": self.values,
            "rules": self.rules if data["counts"] else None,
        }


def _sorted(rules: Rules) -> list[str]:
    return sorted(map(str, rules))


def _names(
    maker: MakerFigure | None, procedure: Procedure | None
) -> list[tuple[str, str]]:
    """What was entered, then what the procedure measures and has no figure yet."""
    entered = [
        (value.name, value_in_words(value).replace(" to ", "-"))
        for value in (maker.values.all() if maker else ())
    ]
    known = {name for name, _figure in entered}
    measures = procedure.measures if procedure else ()
    return entered + [(one.name, "") for one in measures if one.name not in known]
