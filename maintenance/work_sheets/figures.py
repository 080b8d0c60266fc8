"""Figures that somebody worked out and kept for a rig, on the page of a job."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from maintenance.library.model import Procedure
from maintenance.plans.models import PlanItem


@dataclass(frozen=True, slots=True)
class JobFigure:
    """`lines`: what, and the figure in words."""

    title: str
    note: str
    kept_on: date
    lines: tuple[tuple[str, str], ...]


# Of apps above this one, which add theirs when they are ready.
FIGURES_FOR: list[Callable[[PlanItem, tuple[str, ...]], list[JobFigure]]] = []


def kept_for(item: PlanItem, procedure: Procedure | None) -> list[JobFigure]:
    calculators = procedure.calculators if procedure else ()
    return [one for ask in FIGURES_FOR for one in ask(item, calculators)]
