"""Findings that make a rig unfit to travel: who is told of them, and until when."""

from collections.abc import Iterable, Sequence
from datetime import date

from maintenance.core import notices as core
from maintenance.households.models import Household

from .. import queries
from ..models import FindingNotice


def raise_of_findings(
    household: Household, *, today: date
) -> tuple[list[FindingNotice], date]:
    """The rows that are to go out at once, and the next day on which one is told again.

    What was told of a finding that is put right since goes, so that it is told as new
    should it come back.
    """
    found = [finding.pk for finding in queries.unfit_findings(household)]
    rows = FindingNotice.objects.filter(member__household=household)
    rows.exclude(finding__in=found).delete()
    if not found:
        return [], date.max
    told = queries.told_of_findings(household)
    people = queries.people_of(household)
    new = core.finding_notices(found, people, told, as_of=today)
    made = [
        FindingNotice(
            finding_id=one.finding,
            member_id=one.person,
            number=one.number,
            raised_on=one.on,
        )
        for one in new
    ]
    # Raised by two at once, a notice is one row all the same.
    FindingNotice.objects.bulk_create(made, ignore_conflicts=True)
    first = {(one.person, one.finding) for one in new if one.number == 0}
    waiting = rows.filter(digest__isnull=True, number=0).order_by("pk") if first else ()
    at_once = [row for row in waiting if (row.member_id, row.finding_id) in first]
    return at_once, core.next_finding_day([*told, *new], as_of=today)


def drop_put_right(
    rows: Iterable[FindingNotice], household: Household
) -> Sequence[FindingNotice]:
    """Those whose finding still makes its rig unfit; the others go."""
    rows = list(rows)
    if not rows:
        return rows
    found = set(queries.unfit_findings(household).values_list("pk", flat=True))
    gone = [row.pk for row in rows if row.finding_id not in found]
    FindingNotice.objects.filter(pk__in=gone).delete()
    return [row for row in rows if row.finding_id in found]
