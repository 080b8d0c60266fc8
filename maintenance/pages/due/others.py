"""Everything else, folded by rig, by system or by place."""

from collections import Counter
from collections.abc import Callable, Collection, Hashable
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
    of = {"rig": _by_rig, "system": _by_system, "place": _by_place}[by](facts)
    zones = {entry.key: entry.system for entry in entries()}
    folds: dict[Hashable, Fold] = {}
    if by == "rig":
        folds = {rig.pk: Fold(rig.name, rig=rig) for rig in facts.rigs}
    for job in facts.jobs:
        key, title = of(job.rig, job.system)
        folds.setdefault(key, Fold(title)).counts[job.standing] += 1
    for finding in facts.findings:
        if not finding.unfit:
            key, title = of(finding.rig_id, zones.get(finding.zone, ""))
            folds.setdefault(key, Fold(title)).findings.append(finding)
    for standing in facts.standings:
        if standing.item_id not in left_out:
            item = standing.item
            key, _title = of(item.rig_id, item.system)
            _add(folds[key], standing, facts)
    if by == "rig":
        return list(folds.values())
    return sorted(folds.values(), key=lambda one: one.title)


def _add(fold: Fold, standing: Standing, facts: DueFacts) -> None:
    if len(fold.rows) < SHOWN:
        fold.rows.append(row_of(standing, facts.today))
    else:
        fold.left += 1


Key = Callable[[int, str], tuple[Hashable, str]]


def _by_rig(facts: DueFacts) -> Key:
    names = {rig.pk: rig.name for rig in facts.rigs}
    return lambda rig, _system: (rig, names.get(rig, ""))


def _by_system(_facts: DueFacts) -> Key:
    systems = load_library().systems

    def of(_rig: int, system: str) -> tuple[Hashable, str]:
        found = systems.get(system)
        title = found.title if found else ELSEWHERE
        return title, title

    return of


def _by_place(_facts: DueFacts) -> Key:
    systems = load_library().systems

    def of(_rig: int, system: str) -> tuple[Hashable, str]:
        found = systems.get(system)
        title = PLACES.get(found.place, ELSEWHERE) if found else ELSEWHERE
        return title, title

    return of
