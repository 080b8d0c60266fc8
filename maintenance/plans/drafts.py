"""The plan proposed for a rig: what is new, what does not fit any more, what was left
out, each with its reason and what it costs."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.triggers import parse_triggers
from maintenance.core.words import counted
from maintenance.library.effort import YearOfUse, follows_events_only, times_a_year
from maintenance.library.model import Procedure
from maintenance.library.proposals import left_out, propose
from maintenance.library.reading import load_library
from maintenance.vehicles.models import Rig

from .effort import effort_in_words, hours_in_words, year_of
from .models import PlanItem
from .queries import own_procedures
from .rule_data import rules_on
from .rules import rule_in_words

WHO = {
    "owner": "you",
    "practiced_owner": "you, if handy",
    "shop": "a shop",
}


@dataclass(frozen=True, slots=True)
class DraftRow:
    """A procedure to be taken or left. `usual`: taken unless its owner leaves it."""

    key: str
    title: str
    system: str
    because: str
    why: str
    rules: str
    who: str
    safety: bool
    effort: str
    minutes: Decimal  # a year
    by_shop: bool
    usual: bool


@dataclass(frozen=True, slots=True)
class DraftGroup:
    title: str
    rows: list[DraftRow]
    words: str


@dataclass(frozen=True, slots=True)
class Leaving:
    """An item of the plan that does not fit the rig any more."""

    item: PlanItem
    because: str

    @property
    def id(self) -> str:
        return str(self.item.pk)


@dataclass(frozen=True, slots=True)
class Draft:
    groups: list[DraftGroup]
    earlier: list[DraftRow]  # left out or dropped before
    leaving: list[Leaving]
    total: str
    reckoned_with: str
    is_first: bool  # nothing is on the plan yet

    @property
    def rows(self) -> list[DraftRow]:
        return [row for group in self.groups for row in group.rows]


@dataclass(frozen=True, slots=True)
class Known:
    """What a draft is made of, where it is loaded already: all items of the rig, its
    meters, a year of its use (`year_of`), the household's own procedures."""

    items: Iterable[PlanItem]
    meters: dict[str, str]
    use: tuple[YearOfUse, str]
    own: Iterable[Procedure]


def _load(rig: Rig, today: date) -> Known:
    return Known(
        items=PlanItem.objects.on_rig(rig),
        meters={meter.kind: meter.unit for meter in rig.meters.all()},
        use=year_of(rig, today),
        own=own_procedures(rig.household).values(),
    )


def draft_plan(rig: Rig, today: date, known: Known | None = None) -> Draft:
    """What the library and the household's own procedures propose, and what not."""
    known = known or _load(rig, today)
    items = {item.key: item for item in known.items}
    meters = known.meters
    year, reckoned_with = known.use
    new: list[DraftRow] = []
    earlier: list[DraftRow] = []
    for procedure, because, usual in _fitting(rig, known):
        item = items.get(procedure.key)
        if item is not None and item.dropped_on is None:
            continue
        row = _row(procedure, _reason(item, because), meters, year, usual=usual)
        (new if item is None else earlier).append(row)
    return Draft(
        groups=_groups(new),
        earlier=earlier,
        leaving=_leaving(rig, meters, items),
        total=total_in_words((row.minutes, row.by_shop) for row in new),
        reckoned_with=reckoned_with,
        is_first=all(item.dropped_on is not None for item in items.values()),
    )


def _fitting(rig: Rig, known: Known) -> Iterable[tuple[Procedure, str, bool]]:
    proposals = propose(
        load_library(), kind=rig.kind, equipment=rig.equipment, meters=known.meters
    )
    yield from ((one.procedure, one.because, True) for one in proposals)
    for own in known.own:
        yield own, "because you wrote it", False


def _reason(item: PlanItem | None, because: str) -> str:
    return because if item is None else item.why_dropped or because


def _row(
    procedure: Procedure,
    because: str,
    meters: dict[str, str],
    year: YearOfUse,
    *,
    usual: bool,
) -> DraftRow:
    rules = parse_triggers([*rules_on(procedure, meters)], procedure.key)
    times = Decimal(0) if procedure.once else times_a_year(rules, year)
    words = [rule_in_words(rule) for rule in rules] or ["When needed"]
    return DraftRow(
        key=procedure.key,
        title=procedure.title,
        system=procedure.system,
        because=because,
        why=procedure.why,
        rules=" · ".join(words),
        who=WHO[procedure.who],
        safety=procedure.safety,
        effort=effort_in_words(
            procedure.minutes, times, on_event=follows_events_only(rules)
        ),
        minutes=times * procedure.minutes,
        by_shop=procedure.by_shop,
        usual=usual,
    )


def _groups(rows: Iterable[DraftRow]) -> list[DraftGroup]:
    by_system: dict[str, list[DraftRow]] = defaultdict(list)
    for row in rows:
        by_system[row.system].append(row)
    return [
        DraftGroup(system_title(system), found, _counts(found))
        for system, found in by_system.items()
    ]


def system_title(key: str) -> str:
    system = load_library().systems.get(key)
    return system.title if system else key


def _counts(rows: list[DraftRow]) -> str:
    """“12 items, 3 for safety, 4 hours a year”"""
    parts = [counted(len(rows), "item")]
    safety = sum(row.safety for row in rows)
    if safety:
        parts.append(f"{safety} for safety")
    minutes = sum((row.minutes for row in rows), Decimal(0))
    if minutes >= 1:
        parts.append(f"{hours_in_words(minutes)} a year")
    return ", ".join(parts)


def total_in_words(costs: Iterable[tuple[Decimal, bool]]) -> str:
    """“About 40 hours a year of your own time and 12 hours of a shop's”."""
    own = shop = Decimal(0)
    for minutes, by_shop in costs:
        own, shop = (own, shop + minutes) if by_shop else (own + minutes, shop)
    if shop < 1:
        return f"about {hours_in_words(own)} a year"
    return (
        f"about {hours_in_words(own)} a year by you, and "
        f"{hours_in_words(shop)} by a shop"
    )


def _leaving(
    rig: Rig, meters: dict[str, str], items: dict[str, PlanItem]
) -> list[Leaving]:
    """Items of the library on the plan that it would not propose now."""
    found = left_out(
        load_library(), kind=rig.kind, equipment=rig.equipment, meters=meters
    )
    return [
        Leaving(items[one.procedure.key], one.because)
        for one in found
        if one.procedure.key in items and items[one.procedure.key].dropped_on is None
    ]
