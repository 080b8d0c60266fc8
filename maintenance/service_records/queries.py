"""Reading service records."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from maintenance.findings.models import Finding
from maintenance.households.models import Household
from maintenance.plans.measures import Measured, from_data

from .chain.models import ChainLink
from .models import (
    Attachment,
    FoundOrFixed,
    LineFinding,
    PartUsed,
    RecordLine,
    ServiceRecord,
)


def findings_of_record(record: ServiceRecord) -> QuerySet[Finding]:
    """What its lines found, whatever became of it, in their order."""
    links = LineFinding.objects.filter(line__record=record, how=FoundOrFixed.FOUND)
    return Finding.objects.filter(line_links__in=links).order_by("pk")


def with_lines(findings: QuerySet[Finding]) -> QuerySet[Finding]:
    """With the lines that found and fixed them, for `found_by` and `fixed_by`."""
    return findings.prefetch_related("line_links__line__record")


def found_by(finding: Finding) -> RecordLine | None:
    return _line_of(finding, FoundOrFixed.FOUND)


def fixed_by(finding: Finding) -> RecordLine | None:
    """The last line that put it right."""
    return _line_of(finding, FoundOrFixed.FIXED)


def _line_of(finding: Finding, how: str) -> RecordLine | None:
    lines = [
        link.line
        for link in finding.line_links.all()
        if link.how == how and link.line.record.voided_at is None
    ]
    return lines[-1] if lines else None


@dataclass(frozen=True, slots=True)
class LogFilter:
    """What narrows the log; empty parts narrow nothing."""

    rig: int | None = None
    system: str = ""
    year: int | None = None
    text: str = ""

    def __bool__(self) -> bool:
        return self != LogFilter()


def log_of(household: Household, narrow: LogFilter) -> QuerySet[ServiceRecord]:
    """The log, newest first, with just what its rows show. What was merged into
    another record stands with that one."""
    rows = ServiceRecord.objects.for_household(household).filter(merged_into=None)
    if narrow.rig is not None:
        rows = rows.filter(rig=narrow.rig)
    if narrow.year is not None:
        first, last = date(narrow.year, 1, 1), date(narrow.year, 12, 31)
        rows = rows.filter(on__range=(first, last))
    lines = RecordLine.objects.filter(record=OuterRef("pk"))
    if narrow.system:
        rows = rows.filter(Exists(lines.filter(item__system=narrow.system)))
    if narrow.text:
        rows = rows.filter(_about(narrow.text, lines))
    proof = Attachment.objects.filter(record=OuterRef("pk"))
    rows = rows.annotate(has_proof=Exists(proof))
    return rows.select_related("rig").prefetch_related("lines")


def _about(text: str, lines: QuerySet[RecordLine]) -> Q:
    """Records in whose jobs, parts, notes or names the text stands."""
    parts = PartUsed.objects.filter(record=OuterRef("pk"))
    return (
        Q(Exists(lines.filter(Q(title__icontains=text) | Q(note__icontains=text))))
        | Q(Exists(parts.filter(Q(name__icontains=text) | Q(number__icontains=text))))
        | Q(notes__icontains=text)
        | Q(doer__icontains=text)
        | Q(place__icontains=text)
    )


def log_years(household: Household) -> list[int]:
    """Years in which work was done, newest first."""
    rows = ServiceRecord.objects.for_household(household).order_by()
    return sorted(set(rows.values_list("on__year", flat=True).distinct()), reverse=True)


def changed_since(moment: datetime, link: int) -> Q:
    """Records that were entered or voided since then, or linked (so also amended)
    after the link of this number."""
    linked = Exists(ChainLink.objects.filter(record=OuterRef("pk"), pk__gt=link))
    return Q(entered_at__gte=moment) | Q(voided_at__gte=moment) | Q(linked)


def last_link(household: Household) -> int:
    """The number of the newest link of the household's chains; 0 without one."""
    rows = ChainLink.objects.filter(rig__household=household)
    found: int = rows.aggregate(last=Max("pk", default=0))["last"]
    return found


def measured_on(line: RecordLine) -> list[Measured]:
    """What was measured at one job; the torque of wheels stands in `record.torque`."""
    return from_data(line.measures)


def steps_left_out(line: RecordLine) -> list[str]:
    """The steps that were not ticked; empty too where no sheet was used."""
    return [words for words, ticked in line.steps if not ticked]
