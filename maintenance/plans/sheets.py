"""The plan of a rig and the library, as lists to read."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.triggers import parse_triggers
from maintenance.core.words import counted
from maintenance.library.effort import YearOfUse, times_a_year
from maintenance.library.model import Procedure
from maintenance.ui.words import WHO_WORDS, minutes_words
from maintenance.vehicles.models import Rig

from .asking import asked_of, with_record
from .drafts import Known, draft_plan, system_title, total_in_words
from .effort import year_of
from .models import PlanItem, RulesFrom
from .offers import Offer, offers
from .own_procedures import is_own
from .queries import procedures_of
from .rules import rule_in_words, rules_in_words

FROM = {
    RulesFrom.MAKER: "by the manufacturer's manual",
    RulesFrom.OWN: "by your own rules",
}


@dataclass(frozen=True, slots=True)
class PlanLine:
    item: PlanItem
    rules: str
    counted_from: str  # empty for the library
    who: str
    minutes: str
    standing: str  # empty until it is reckoned


@dataclass(frozen=True, slots=True)
class PlanGroup:
    title: str
    lines: list[PlanLine]
    words: str


@dataclass(frozen=True, slots=True)
class PlanSheet:
    groups: list[PlanGroup]
    size: int
    offers: list[Offer]
    off: list[PlanItem]
    new: int  # proposed and not decided
    leaving: int
    asked: int
    total: str
    reckoned_with: str


def plan_sheet(rig: Rig, today: date) -> PlanSheet:
    procedures = procedures_of(rig.household)
    on_rig = PlanItem.objects.on_rig(rig).select_related("rig", "standing")
    rows = list(with_record(on_rig).order_by("system", "pk"))
    items = [item for item in rows if item.dropped_on is None]
    meters = {meter.kind: meter.unit for meter in rig.meters.all()}
    use = year_of(rig, today)
    year, reckoned_with = use
    own = [one for key, one in procedures.items() if is_own(key)]
    draft = draft_plan(rig, today, Known(rows, meters, use, own))
    return PlanSheet(
        groups=_groups(items, procedures),
        size=len(items),
        offers=offers(items, procedures, meters),
        off=[item for item in rows if item.dropped_on is not None],
        new=sum(row.usual for row in draft.rows),
        leaving=len(draft.leaving),
        asked=len(asked_of(items, meters)),
        total=total_in_words(_costs(items, procedures, year)),
        reckoned_with=reckoned_with,
    )


def _groups(
    items: Iterable[PlanItem], procedures: Mapping[str, Procedure]
) -> list[PlanGroup]:
    by_system: dict[str, list[PlanLine]] = defaultdict(list)
    for item in items:
        by_system[item.system].append(_line(item, procedures.get(item.key)))
    return [
        PlanGroup(system_title(system), lines, _counts(lines))
        for system, lines in by_system.items()
    ]


def _line(item: PlanItem, procedure: Procedure | None) -> PlanLine:
    return PlanLine(
        item=item,
        rules=" · ".join(rules_in_words(item)) or "When needed",
        counted_from=FROM.get(RulesFrom(item.rules_from), ""),
        who=WHO_WORDS[procedure.who] if procedure else "",
        minutes=minutes_words(procedure.minutes) if procedure else "",
        standing=item.standing.standing if hasattr(item, "standing") else "",
    )


def _counts(lines: list[PlanLine]) -> str:
    words = counted(len(lines), "job")
    safety = sum(line.item.safety for line in lines)
    return f"{words}, {safety} for safety" if safety else words


def _costs(
    items: Iterable[PlanItem], procedures: Mapping[str, Procedure], year: YearOfUse
) -> Iterable[tuple[Decimal, bool]]:
    """Minutes a year of each item, and whether they are a shop's."""
    for item in items:
        procedure = procedures.get(item.key)
        if procedure is not None and not item.once:
            times = times_a_year(parse_triggers(item.triggers, item.key), year)
            yield times * procedure.minutes, procedure.by_shop


# --- the library ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LibraryLine:
    key: str
    title: str
    who: str
    minutes: int
    rules: str
    safety: bool


@dataclass(frozen=True, slots=True)
class LibraryGroup:
    title: str
    lines: list[LibraryLine]


def library_groups(procedures: Mapping[str, Procedure]) -> list[LibraryGroup]:
    by_system: dict[str, list[LibraryLine]] = defaultdict(list)
    for procedure in procedures.values():
        by_system[procedure.system].append(_library_line(procedure))
    return [LibraryGroup(system_title(key), found) for key, found in by_system.items()]


def _library_line(procedure: Procedure) -> LibraryLine:
    rules = parse_triggers([*map(dict, procedure.triggers)], procedure.key)
    return LibraryLine(
        key=procedure.key,
        title=procedure.title,
        who=WHO_WORDS[procedure.who],
        minutes=procedure.minutes,
        rules=" · ".join(map(rule_in_words, rules)) or "When needed",
        safety=procedure.safety,
    )


def source_counts(procedures: Iterable[Procedure]) -> list[tuple[str, int]]:
    """How many figures come from what kind of source."""
    found = Counter(source.kind for one in procedures for source in one.sources)
    return found.most_common()
