"""Everything else, folded by rig, by system or by place."""

from collections import Counter
from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from maintenance.findings.models import Finding
from maintenance.findings.zones import entries
from maintenance.library.reading import load_library
from maintenance.plans.models import Standing, StandingName
from maintenance.plans.rows import Row, row_of
from maintenance.ui.drawings import PLACES
from maintenance.vehicles.models import Rig

from .facts import DueFacts

SHOWN = 12  # rows of a fold; the rest is on the plan of its rig
ELSEWHERE = "The whole rig"
BY = {"rig": "By rig", "system": "By system", "place": "By place"}
SAID = (
    StandingName.OVERDUE,
    StandingName.DUE,
    StandingName.SOON,
    StandingName.UNKNOWN,
    StandingName.WAITING,
    StandingName.LATER,
)


@dataclass
class Fold:
    """`rig` where it is one's; `counts`: how all of its jobs stand; `left` are more
    than it shows."""

    title: str
    rig: Rig | None = None
    counts: Counter[str] = field(default_factory=Counter)
    rows: list[Row] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    left: int = 0

    @property
    def says(self) -> str:
        said = [f"{len(self.findings)} not right"] if self.findings else []
        found = [(self.counts[name], name.label.lower()) for name in SAID]
        said += [f"{n} {words}" for n, words in found if n]
        return ", ".join(said) or "nothing on its plan"


def folds_of(facts: DueFacts, by: str, left_out: Collection[int]) -> list[Fold]:
    """`left_out`: items that stand above."""
    title_of = _titles(facts, by)
    zones = {entry.key: entry.system for entry in entries()}
    folds: dict[str, Fold] = {}
    if by == "rig":
        folds = {rig.name: Fold(rig.name, rig=rig) for rig in facts.rigs}
    for job in facts.jobs:
        title = title_of(job.rig, job.system)
        folds.setdefault(title, Fold(title)).counts[job.standing] += 1
    for finding in facts.findings:
        if not finding.unfit:
            title = title_of(finding.rig_id, zones.get(finding.zone, ""))
            folds.setdefault(title, Fold(title)).findings.append(finding)
    for standing in facts.standings:
        if standing.item_id not in left_out:
            title = title_of(standing.item.rig_id, standing.item.system)
            _add(folds[title], standing, facts)
    if by == "rig":
        return list(folds.values())
    return sorted(folds.values(), key=lambda one: one.title)


def _add(fold: Fold, standing: Standing, facts: DueFacts) -> None:
    if len(fold.rows) < SHOWN:
        fold.rows.append(row_of(standing, facts.today))
    else:
        fold.left += 1


def _titles(facts: DueFacts, by: str) -> Callable[[int, str], str]:
    """The title of the fold that a job of a rig (by id) and a system goes to."""
    if by == "rig":
        names = {rig.pk: rig.name for rig in facts.rigs}
        return lambda rig, _system: names[rig]
    systems = load_library().systems
    if by == "system":
        titles = {key: one.title for key, one in systems.items()}
    else:
        titles = {k: PLACES.get(x.place, ELSEWHERE) for k, x in systems.items()}
    return lambda _rig, system: titles.get(system, ELSEWHERE)
