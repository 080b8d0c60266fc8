"""Due, put together: the sentence, the tags, this week, the next 60 days, the rest."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from maintenance.core.words import counted
from maintenance.households.models import Household
from maintenance.plans.expected import towed_questions
from maintenance.plans.models import StandingName
from maintenance.ui.words import minutes_words
from maintenance.vehicles.models import Rig
from maintenance.vehicles.not_towed import TowedSince
from maintenance.vehicles.parked import Parked, parked_among

from .ahead import Entry, LaneShown, entries_of, lanes_of
from .facts import DueFacts, due_facts
from .others import BY, Fold, folds_of
from .tags import Tags, on_tags, tags_of
from .week import WeekShown, week_of

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven")


@dataclass(frozen=True)
class DuePage:
    stop: str
    say: str
    tags: Tags
    week: WeekShown
    lanes: list[LaneShown]
    entries: list[Entry]
    folds: list[Fold]
    by: str
    rigs: list[Rig]
    towed: list[TowedSince]
    parked: list[Parked]
    mileage: Rig | None

    @property
    def stored(self) -> list[Rig]:
        return [rig for rig in self.rigs if rig.is_stored]  # type: ignore[attr-defined]


def due_page(household: Household, today: date, by: str = "") -> DuePage:
    facts = due_facts(household, today)
    tags = tags_of(facts)
    hung = on_tags(tags)
    week = week_of(facts, hung)
    lanes = lanes_of(facts)
    entries = entries_of(facts, lanes)
    by = by if by in BY else next(iter(BY))
    return DuePage(
        stop=stop_words(tags.stopped),
        say=say_words(facts, week, entries),
        tags=tags,
        week=week,
        lanes=lanes,
        entries=entries,
        folds=folds_of(facts, by, hung | week.in_it),
        by=by,
        rigs=facts.rigs,
        towed=towed_questions(facts.standings, today),
        parked=parked_among(facts.rigs, today),
        mileage=_mileage(facts),
    )


def stop_words(rigs: Sequence[Rig]) -> str:
    """“Don't move Pebble or Dumpling.”; every rig that should not move, always."""
    if not rigs:
        return ""
    if len(rigs) == 1:
        return f"{rigs[0].stop_words}."
    *first, last = [rig.name for rig in rigs]
    return f"Don't move {', '.join(first)} or {last}."


def say_words(facts: DueFacts, week: WeekShown, entries: Sequence[Entry]) -> str:
    lines = week.lines
    if not lines:
        return _nothing(facts, entries)
    if all(line.unknown for line in lines):
        return "Start with what was done before, safety first. A year is enough."
    shops = [row for row in week.chosen.rows if row.shop and not row.unknown]
    own = [row for row in week.chosen.rows if not row.shop and not row.unknown]
    shares = []
    if own:
        minutes = minutes_words(sum(row.minutes for row in own))
        shares.append(f"{_of(own, 'yours')}, about {minutes}")
    if shops:
        shares.append(_of(shops, "for a shop"))
    said = "; ".join(shares)
    if week.over:
        begin = f"{_jobs(facts)} Start with these {NUMBERS[len(lines)]}"
    else:
        begin = f"{counted_words(len(lines))} this week"
    return f"{begin}: {said}." if said else f"{begin}."


def _of(rows: Sequence[object], whose: str) -> str:
    return f"{NUMBERS[len(rows)]} {'is' if len(rows) == 1 else 'are'} {whose}"


def counted_words(count: int) -> str:
    return f"{NUMBERS[count].capitalize()} {'thing' if count == 1 else 'things'}"


def _jobs(facts: DueFacts) -> str:
    overdue = sum(1 for x in facts.jobs if x.standing == StandingName.OVERDUE)
    asked = {StandingName.OVERDUE, StandingName.DUE, StandingName.UNKNOWN}
    safety = sum(1 for x in facts.jobs if x.safety and x.standing in asked)
    are = "is" if overdue == 1 else "are"
    return (
        f"{counted(overdue, 'job')} {are} overdue and "
        f"{counted(safety, 'safety job')} {'is' if safety == 1 else 'are'} open."
    )


def _nothing(facts: DueFacts, entries: Sequence[Entry]) -> str:
    if not entries:
        return "Nothing is due, and nothing opens in the next 60 days."
    first = entries[0]
    return f"Nothing is due this week. Next: {first.what}, {first.rig}, {first.when}."


def _mileage(facts: DueFacts) -> Rig | None:
    """The rig in use whose odometer was read longest ago, a week or more."""
    found = [
        rig
        for rig in facts.rigs
        if not rig.is_trailer
        and facts.states[rig.pk].stay is None
        and rig.read_on is not None  # type: ignore[attr-defined]  # `with_last_use`
        and (facts.today - rig.read_on).days >= 7  # type: ignore[attr-defined]
    ]
    return min(found, key=lambda rig: rig.read_on, default=None)  # type: ignore[attr-defined]
