"""Walk-rounds, and what became of each fault, as the print shows them."""

from collections.abc import Iterable, Sequence

from maintenance.findings.models import Finding, FindingState
from maintenance.service_records.queries import fixed_by
from maintenance.ui.templatetags.ui import day
from maintenance.walkrounds.models import WalkRound

from .model import DatedRow
from .words import counted

LISTED = 24  # walk-rounds; more of them would tell a reader nothing new


def fault_rows(findings: Iterable[Finding]) -> tuple[DatedRow, ...]:
    """Newest first, whatever became of them."""
    newest = sorted(findings, key=lambda each: (each.found_on, each.pk), reverse=True)
    return tuple(
        DatedRow(day(each.found_on), _what(each), fate(each)) for each in newest
    )


def _what(finding: Finding) -> str:
    return f"{finding.what}, {finding.place.lower()}" if finding.place else finding.what


def fate(finding: Finding) -> str:
    """What became of a fault: `put right 9 Apr 2026`"""
    if finding.state == FindingState.FIXED:
        fixed = fixed_by(finding)
        return f"put right {day(fixed.record.on)}" if fixed else "put right"
    if finding.state == FindingState.ACCEPTED:
        return f"accepted: {finding.why_accepted}"
    return "not put right yet"


def look_rows(rounds: Sequence[WalkRound]) -> tuple[DatedRow, ...]:
    return tuple(_look(each) for each in rounds[:LISTED])


def looks_left_out(rounds: Sequence[WalkRound]) -> str:
    """`And 6 more, the first on 3 May 2021.`"""
    more = len(rounds) - LISTED
    if more <= 0:
        return ""
    return f"And {more:,} more, the first on {day(rounds[-1].started_on)}."


def _look(walkround: WalkRound) -> DatedRow:
    by = walkround.finished_by or walkround.started_by
    # Counted by the query that reads the list.
    zones, changes, found = (
        getattr(walkround, name) for name in ("zones", "changes", "found")
    )
    said = [counted(zones, "zone")]
    if changes:
        said.append(f"{changes} changed")
    if found:
        said.append(counted(found, "fault") + " found")
    if walkround.record is not None and walkround.record.voided_at is not None:
        said.append("its record was made void")
    on = walkround.finished_on or walkround.started_on
    return DatedRow(day(on), f"by {by}" if by else "", ", ".join(said))
