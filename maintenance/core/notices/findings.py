"""What was found and makes a rig unfit to travel: told at once to whoever may drive,
and again like what is overdue, until it is put right."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from maintenance.core.notices.cycles import repeat_after, repeats_since
from maintenance.core.notices.values import Person


@dataclass(frozen=True, slots=True)
class FindingTold:
    """`number`: 0 for the first notice, which goes out at once, then 1, 2 …"""

    finding: int
    person: int
    number: int
    on: date


def finding_notices(
    findings: Iterable[int],
    people: Iterable[Person],
    told: Iterable[FindingTold],
    *,
    as_of: date,
) -> tuple[FindingTold, ...]:
    """The notices to raise on `as_of` of findings that make a rig unfit, by person,
    then finding, in the order given; asked again with these told, it is empty."""
    findings, told = tuple(findings), tuple(told)
    first = _first_told(told)
    numbers: dict[tuple[int, int], int] = {}
    for row in told:
        pair = (row.person, row.finding)
        numbers[pair] = max(numbers.get(pair, 0), row.number)
    raised = []
    for person in people:
        for finding in findings if person.drives else ():
            pair = (person.person, finding)
            number = repeats_since(first.get(pair, as_of), as_of)
            if number > numbers.get(pair, -1):
                raised.append(FindingTold(finding, person.person, number, as_of))
    return tuple(raised)


def next_finding_day(told: Iterable[FindingTold], *, as_of: date) -> date:
    """The first day after `as_of` on which one is told again; `date.max`: never."""
    days = (repeat_after(day, as_of) for day in _first_told(told).values())
    return min(days, default=date.max)


def _first_told(told: Iterable[FindingTold]) -> dict[tuple[int, int], date]:
    """(person, finding) -> the day on which it was told first."""
    first: dict[tuple[int, int], date] = {}
    for row in told:
        pair = (row.person, row.finding)
        first[pair] = min(first.get(pair, row.on), row.on)
    return first
