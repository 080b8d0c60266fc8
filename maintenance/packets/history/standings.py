"""Where the rig stands, as the print says it."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from maintenance.core.triggers import FOLLOW_UPS
from maintenance.core.words import counted
from maintenance.findings.models import Finding
from maintenance.plans.models import BaselineKind, Completion, Standing, StandingName
from maintenance.plans.rows import row_of
from maintenance.plans.rules import rules_in_words
from maintenance.ui.templatetags.ui import day, standing_word

from .model import Open, Standings
from .words import RigWords, span

NO_RECORD = "no record"
OPEN = (StandingName.OVERDUE, StandingName.DUE, StandingName.UNKNOWN)


class StandingSetter:
    """Sets the standings of one rig into words."""

    def __init__(
        self, words: RigWords, last: Mapping[int, Completion], as_of: date
    ) -> None:
        self.words = words
        self.last = last  # plan item id -> its last completion
        self.as_of = as_of

    def row(self, standing: Standing) -> Open:
        row = row_of(standing, self.as_of)
        at = self.words.places(_places(standing))
        return Open(
            standing=row.standing,
            word=standing_word(row.standing),
            what=f"{row.title}, {at}" if at else row.title,
            when=", ".join(filter(None, (row.when, row.about))),
            last=self._last(standing),
            rule=_rule(standing, row.why),
            deferred=f"Put off {row.deferred}" if row.deferred else "",
            unfit=row.unfit,
            fitness=row.fitness,
            safety=row.safety,
            expected=row.expected,
        )

    def _last(self, standing: Standing) -> str:
        done = self.last.get(standing.item_id)
        if done is not None:
            return ", ".join([span(done.on, done.until), *self._values(done)])
        item = standing.item
        if item.baseline == BaselineKind.STATED:
            return f"{day(item.baseline_on)}, entered without a record"
        if item.baseline == BaselineKind.IN_SERVICE:
            return "none yet, counted from new"
        return NO_RECORD

    def _values(self, done: Completion) -> tuple[str, ...]:
        return tuple(
            self.words.value(kind, value) for kind, value in done.values.items()
        )


def _rule(standing: Standing, why: Iterable[str]) -> str:
    """The rules in words: with the last time and the next they are the whole reason.
    Where nothing can be reckoned, what is missing."""
    if standing.standing == StandingName.UNKNOWN:
        return " ".join(why)
    first, *more = rules_in_words(standing.item)
    return "; ".join([first, *(rule[:1].lower() + rule[1:] for rule in more)])


def _places(standing: Standing) -> Sequence[str] | None:
    """The wheels that the governing follow-up asks for; None for all."""
    if standing.governing not in FOLLOW_UPS:
        return None
    for one in standing.pending:
        if one.kind in FOLLOW_UPS and one.window == standing.window:
            return None if one.places is None else sorted(one.places)
    return None


def _reason(row: Open) -> str:
    return f"{row.what}. {row.fitness}" if row.fitness else row.what


def _fault(finding: Finding) -> Open:
    return Open(
        standing="unfit" if finding.unfit else "fault",
        word="Fault",
        what=finding.what,
        when=f"found {day(finding.found_on)}",
        unfit=finding.unfit,
    )


def _never_called_for(row: Open) -> bool:
    """Work that waits for an event which never came says nothing of this rig."""
    return row.standing == StandingName.WAITING and row.last == NO_RECORD


def _left_out(number: int) -> str:
    if not number:
        return ""
    works = counted(number, "waiting job", "waiting jobs")
    return f"Not listed: {works}, whose cause hasn't happened yet."


def standings(
    rows: Iterable[Standing],
    *,
    faults: Iterable[Finding],
    accepted: Iterable[Finding],
    setter: StandingSetter,
    sold_on: date | None = None,
) -> Standings:
    """Faults and work, apart by whether they are open. Of a rig that was sold nothing
    is reckoned."""
    found = tuple(_fault(finding) for finding in faults)
    known = [setter.row(row) for row in rows]
    still_open = tuple(row for row in known if row.standing in OPEN)
    quiet = [row for row in known if row.standing not in OPEN]
    ahead = tuple(row for row in quiet if not _never_called_for(row))
    silent = ""
    if sold_on:
        silent = f"Sold on {day(sold_on)}. No jobs come due after that."
    return Standings(
        as_of=day(setter.as_of),
        silent=silent,
        unfit=tuple(_reason(row) for row in (*found, *still_open) if row.unfit),
        not_legal=tuple(
            _reason(row) for row in still_open if row.fitness and not row.unfit
        ),
        open=(*found, *still_open),
        ahead=ahead,
        left_out=_left_out(len(quiet) - len(ahead)),
        accepted=tuple((each.what, each.why_accepted) for each in accepted),
    )
