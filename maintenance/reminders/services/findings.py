"""Findings that make a rig unfit to travel: who is told of them, and until when."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import Q, QuerySet

from maintenance.core import notices as core
from maintenance.findings.models import Finding, FindingState
from maintenance.findings.queries import unfit_findings
from maintenance.households.models import Household

from .. import queries
from ..models import WENT_OUT, FindingNotice


def raise_of_findings(
    household: Household, *, today: date
) -> tuple[list[FindingNotice], date]:
    """The rows that are to go out at once, and the next day on which one is told again.

    What was told of a finding that is put right since goes, so that it is told as new
    should it come back.
    """
    found = {finding.pk: finding for finding in unfit_findings(household)}
    rows = FindingNotice.objects.filter(member__household=household)
    _let_go(rows.filter(withdrawn=False).exclude(finding__in=found))
    if not found:
        return [], date.max
    told = queries.told_of_findings(household)
    people = queries.people_of(household)
    new = core.finding_notices(found, people, told, as_of=today)
    made = [
        FindingNotice(
            finding=found[one.finding],
            rig=found[one.finding].rig,
            what=found[one.finding].what,
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


def _let_go(rows: QuerySet[FindingNotice]) -> None:
    """Of rows whose finding makes no rig unfit any more: what was told of one that was
    withdrawn or undone, and not put right, waits for the next digest; the rest goes."""
    undone = Q(finding=None)
    withdrawn = Q(
        finding__withdrawn=True,
        finding__state__in=[FindingState.OPEN, FindingState.PLANNED],
    )
    told = rows.filter(undone | withdrawn, number=0, digest__state__in=WENT_OUT)
    # Locked, so that of two who raise at once only one makes it wait anew.
    for row in told.select_for_update(of=["self"]):
        if row.finding is not None:
            row.rig, row.what = row.finding.rig, row.finding.what
        elif row.rig is None:
            continue  # told by an earlier version, which kept no words
        row.withdrawn, row.finding, row.digest = True, None, None
        row.save(update_fields=["withdrawn", "rig", "what", "finding", "digest"])
    rows.delete()


def drop_put_right(
    rows: Iterable[FindingNotice], household: Household
) -> Sequence[FindingNotice]:
    """Those whose finding still makes its rig unfit, and those withdrawn that nobody
    found again; the others go."""
    rows = list(rows)
    if not rows:
        return rows
    found = list(unfit_findings(household))
    holds = [row for row in rows if _holds(row, found)]
    gone = {row.pk for row in rows} - {row.pk for row in holds}
    FindingNotice.objects.filter(pk__in=gone).delete()
    return holds


def _holds(row: FindingNotice, found: Iterable[Finding]) -> bool:
    if row.withdrawn:
        return all((one.rig_id, one.what) != (row.rig_id, row.what) for one in found)
    return any(one.pk == row.finding_id for one in found)
