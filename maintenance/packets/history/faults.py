"""What became of each fault, as the print shows it."""

from collections.abc import Iterable

from maintenance.findings.models import Finding, FindingState
from maintenance.service_records.queries import fixed_by
from maintenance.ui.templatetags.ui import day

from .model import DatedRow


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
        return f"fixed {day(fixed.record.on)}" if fixed else "fixed"
    if finding.state == FindingState.ACCEPTED:
        return f"left as it is: {finding.why_accepted}"
    return "not fixed yet"
