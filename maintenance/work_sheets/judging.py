"""What the figures of a job say of it, against the limits of its procedure.

Every record is judged here, through whatever door it comes: a figure out of bounds is a
fault, whatever the outcome was called.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from maintenance.components.axles import axle_of
from maintenance.core.measured import Deviation, Figure, Limits, judge_figures
from maintenance.library.model import Procedure
from maintenance.plans.measures import (
    Bounds,
    Measured,
    asks_heavy,
    by_name,
    deviation_words,
    placard_values,
    set_to_names,
)
from maintenance.plans.models import MakerFigure, MakerValue, Outcome, PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.vehicles.weights import heavy_rigs


@dataclass(frozen=True, slots=True)
class Outside:
    """A figure out of bounds, and the word on it."""

    figure: Measured
    verdict: str


@dataclass(frozen=True, slots=True)
class Judged:
    """`unfit`: with what is outside, the procedure says, the rig is not to travel."""

    outcome: str
    outside: tuple[Outside, ...] = ()
    unfit: bool = False

    @property
    def words(self) -> str:
        return outside_words(self.outside)


@dataclass(frozen=True, slots=True)
class Judge:
    """The procedure of one item, with the limits by the name of the measure; `at`: by
    its name and a place that has its own."""

    procedure: Procedure | None = None
    limits: Mapping[str, Limits] = field(default_factory=dict)
    at: Mapping[tuple[str, str], Limits] = field(default_factory=dict)

    def judge(self, outcome: str, measures: Iterable[Measured]) -> Judged:
        """What is out of bounds is a fault, whatever the outcome was called. A person's
        word that something is wrong counts where the procedure says so."""
        measures = list(measures)
        found = self._deviations(measures)
        if not found:
            said = outcome == Outcome.FAULT_FOUND and self._unfit_when("finding")
            return Judged(outcome, unfit=said)
        outside = tuple(Outside(it, deviation_words(one)) for it, one in found)
        unfit = any(self._makes_unfit(one) for _figure, one in found)
        return Judged(Outcome.FAULT_FOUND, outside, unfit)

    def _deviations(
        self, measures: Sequence[Measured]
    ) -> list[tuple[Measured, Deviation]]:
        numbers = [one for one in measures if isinstance(one.value, Decimal)]
        comparisons = self.procedure.comparisons if self.procedure else ()
        figures = [figure_of(one) for one in numbers]
        found = judge_figures(figures, self._limits_at, comparisons)
        return [(numbers[one.index], one) for one in found]

    def _limits_at(self, figure: Figure) -> Limits | None:
        usual = self.limits.get(figure.name)
        return self.at.get((figure.name, figure.place), usual)

    def _makes_unfit(self, found: Deviation) -> bool:
        if found.comparison is not None:
            return found.comparison.unfit
        return self._unfit_when("measured")

    def _unfit_when(self, when: str) -> bool:
        return self.procedure is not None and when in self.procedure.unfit_when


def figure_of(measured: Measured) -> Figure:
    """A number as the core judges it."""
    return Figure(
        measured.name.casefold(),
        Decimal(measured.value),  # type: ignore[arg-type]
        measured.unit,
        measured.place,
        axle_of(measured.place),
    )


def judged_outcome(
    item: PlanItem, outcome: str, measures: Sequence[Measured]
) -> Judged:
    """How it went with one job. Of many, `judges_of` loads the limits at once."""
    if not measures:
        return Judged(outcome)
    return judges_of([item])[item.pk].judge(outcome, measures)


def judges_of(items: Iterable[PlanItem]) -> dict[int, Judge]:
    """Item id -> its judge, for items of one household; as many queries for many items
    as for one."""
    items = list(items)
    if not items:
        return {}
    known = procedures_of(items[0].rig.household)
    rows = MakerFigure.objects.filter(item__in=items).prefetch_related("values")
    makers = _with_placards(items, known, {row.item_id: by_name(row) for row in rows})
    asking = [item.rig for item in items if asks_heavy(known.get(item.key))]
    heavy = heavy_rigs(asking)
    return {
        item.pk: _judge(
            known.get(item.key), Bounds(makers.get(item.pk, {}), item.rig_id in heavy)
        )
        for item in items
    }


def _with_placards(
    items: Sequence[PlanItem],
    known: Mapping[str, Procedure],
    makers: Mapping[int, Mapping[str, MakerValue]],
) -> dict[int, Mapping[str, MakerValue]]:
    """What a job sets to a figure that was entered at another job of the rig."""
    wanted = {item.pk: set_to_names(known.get(item.key)) for item in items}
    names = set().union(*wanted.values())
    rigs = {item.rig_id for item in items if wanted[item.pk]}
    placards = placard_values(rigs, names) if names else {}
    return {
        item.pk: {
            **{
                name: value
                for name, value in placards.get(item.rig_id, {}).items()
                if name in wanted[item.pk]
            },
            **makers.get(item.pk, {}),
        }
        for item in items
    }


def _judge(procedure: Procedure | None, bounds: Bounds) -> Judge:
    if procedure is None:
        return Judge()
    limits = {one.name.casefold(): bounds.usual(one) for one in procedure.measures}
    at = {
        (one.name.casefold(), place): bounds.at(one, place)
        for one in procedure.measures
        for limit in bounds.by_place(one)
        for place in limit.places
    }
    return Judge(procedure, limits, at)


def outside_words(outside: Iterable[Outside]) -> str:
    """“tread LF 1/32 in, RF 0/32 in: below the 2/32 in limit”; empty for nothing."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in outside:
        figure = one.figure
        words = f"{figure.place} {figure.words}".strip()
        found.setdefault((figure.name, one.verdict), []).append(words)
    return "; ".join(
        f"{name} {', '.join(words)}: {verdict}"
        for (name, verdict), words in found.items()
    )
