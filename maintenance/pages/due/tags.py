"""What hangs on a rig: each reason not to move it, then a check that can't wait."""

from collections.abc import Iterable
from dataclasses import dataclass

from maintenance.findings.fitness import Reason
from maintenance.plans.models import PlanItem, Standing, StandingName
from maintenance.plans.queries import FOLLOW_UPS
from maintenance.plans.rows import row_of
from maintenance.vehicles.models import Rig
from maintenance.work_sheets.specified import invoice_source

from .facts import DueFacts

ROOM = 3  # tags side by side; from the next red one on, a line each


@dataclass(frozen=True)
class Check:
    """A safety check that an event raised: a yellow tag. `figure` is its torque, where
    one is known."""

    standing: Standing
    when: str
    figure: str
    minutes: int

    @property
    def item(self) -> PlanItem:
        return self.standing.item


@dataclass(frozen=True)
class Tags:
    """`red` stand as tags, `lines` are further ones; `yellow` find room beside them,
    `counted` do not. `papers`: not legal to drive."""

    red: list[Reason]
    lines: list[Reason]
    yellow: list[Check]
    counted: list[Standing]
    papers: list[Reason]

    @property
    def stopped(self) -> list[Rig]:
        rigs = {one.rig.pk: one.rig for one in (*self.red, *self.lines)}
        return list(rigs.values())

    @property
    def counted_words(self) -> str:
        """“Re-check lug torque: Bramble, Mule”."""
        titles: dict[str, list[str]] = {}
        for one in self.counted:
            titles.setdefault(one.item.title, []).append(one.item.rig.name)
        return "; ".join(f"{what}: {', '.join(rigs)}" for what, rigs in titles.items())


def tags_of(facts: DueFacts) -> Tags:
    accounts = [facts.fitness[rig.pk] for rig in facts.rigs if rig.pk in facts.fitness]
    reasons = [one for account in accounts for one in account.unfit]
    checks = [one for one in facts.standings if is_check(one)]
    room = max(ROOM - len(reasons), 0)
    return Tags(
        red=reasons[:ROOM],
        lines=reasons[ROOM:],
        yellow=[_check(one, facts) for one in checks[:room]],
        counted=checks[room:],
        papers=[one for account in accounts for one in account.not_legal],
    )


def is_check(standing: Standing) -> bool:
    """A check that an event raised, in its window or ahead of it by the road. Past its
    window it makes the rig unfit, and hangs there as such."""
    follows = standing.item.safety and standing.governing in FOLLOW_UPS
    waits = standing.standing == StandingName.DUE or standing.is_check_ahead
    return follows and waits and not standing.unfit


def on_tags(tags: Tags) -> set[int]:
    """The items that hang there, so that no row repeats them."""
    reasons: Iterable[Reason] = (*tags.red, *tags.lines, *tags.papers)
    found = {one.item.pk for one in reasons if one.item is not None}
    checks = [*(one.standing for one in tags.yellow), *tags.counted]
    return found | {one.item_id for one in checks}


def _check(standing: Standing, facts: DueFacts) -> Check:
    row = row_of(standing, facts.today)
    source = invoice_source(standing.item)
    procedure = facts.procedures.get(standing.item.key)
    return Check(
        standing=standing,
        when=", ".join(filter(None, (row.when, row.about))),
        figure=source.figure if source else "",
        minutes=procedure.minutes if procedure else 0,
    )
