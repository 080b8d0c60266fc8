"""Service records as the print shows them, newest first, by year."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, tzinfo
from decimal import Decimal
from itertools import groupby

from django.utils.timezone import localdate

from maintenance.core.units import show_number
from maintenance.core.words import counted
from maintenance.findings.models import Finding
from maintenance.plans.event_words import event_words
from maintenance.plans.models import Outcome
from maintenance.plans.past import cause_words
from maintenance.service_records.chain.story import amendments
from maintenance.service_records.models import (
    Attachment,
    DoneBy,
    FigureOrigin,
    PartUsed,
    RecordLine,
    ServiceRecord,
    TorqueCheck,
    TorquePlace,
)
from maintenance.ui.templatetags.ui import day, measure
from maintenance.ui.words import money_words
from maintenance.vehicles.models import WHEEL_PLACES, Event

from .faults import fate
from .model import Line, Proof, Record, Year
from .words import RigWords, span

LATE_AFTER = 30  # days; an entry after more of them says so
ALL_APART = 3  # lines of a record
ORIGINS = {
    FigureOrigin.INVOICE: "from the invoice of the shop that fitted the wheel",
    FigureOrigin.MANUAL: "from the manufacturer's manual",
    FigureOrigin.PLACARD: "from the placard on the rig",
}
BY = {DoneBy.SHOP: " (shop)", DoneBy.MOBILE: " (mobile technician)"}

Load = Callable[[Attachment], Proof]


class RecordSetter:
    """Sets records into words; holds what all of a rig's records share."""

    def __init__(
        self,
        words: RigWords,
        zone: tzinfo,
        faults: Mapping[int, Finding],
        proof: Load,
        causes: Mapping[tuple[int, date], Event],
    ) -> None:
        self.words = words
        self.zone = zone
        self.faults = faults  # record line id -> the finding it opened
        self.proof = proof
        self.causes = causes  # as `withdrawn_causes` gives them

    def record(self, row: ServiceRecord) -> Record:
        rows = _lines(row)
        lines, routine = _apart([self._line(line) for line in rows], row.done_by)
        return Record(
            anchor=f"record-{row.pk}",
            on=span(row.on, row.until),
            title="; ".join(line.title for line in rows) or "Work",
            lines=lines,
            routine=routine,
            by=_doer(row),
            signed=_signed(row),
            parts=_parts(row),
            warranty=self._warranty(row),
            readings=self.words.all(row.values),
            raised=tuple(self._raised(event) for event in row.events.all()),
            torque=self._torque(row),
            total=_total(row),
            costs=_costs(row),
            notes=row.notes.strip(),
            proof=tuple(self.proof(each) for each in _attachments(row)),
            entered=self._entered(row),
            merged=tuple(self._entered_too(each) for each in row.merged.all()),
            brought=_brought(row),
            late=self._late(row),
            void=self._void(row),
            amended=tuple(self._amended(row)),
        )

    def _line(self, line: RecordLine) -> Line:
        worked_on = self.words.places(line.places)
        return Line(
            what=f"{line.title}, {worked_on}" if worked_on else line.title,
            outcome=_outcome(line.outcome),
            note=line.note,
            fault=self._fault(line),
            cause=self._withdrawn_cause(line),
        )

    def _withdrawn_cause(self, line: RecordLine) -> str:
        words = cause_words(self.causes.get((line.item_id or 0, line.record.on)))
        return f"the event behind it was voided: {words}" if words else ""

    def _fault(self, line: RecordLine) -> str:
        finding = self.faults.get(line.pk)
        return "" if finding is None else fate(finding)

    def _raised(self, event: Event) -> str:
        where = self.words.places(event.places)
        words = event_words(event.kind)
        return f"{words}, {where}" if where else words

    def _torque(self, row: ServiceRecord) -> str:
        """`Wheel torque 110 ft·lbf, from the maker's manual. Reached 110 ft·lbf: all
        wheels`"""
        check: TorqueCheck | None = getattr(row, "torque", None)
        if check is None:
            return ""
        said = [
            f"{self._torque_of(check)} {measure(check.figure, check.unit)}",
            ORIGINS[FigureOrigin(check.origin)],
        ]
        if check.oiled:
            said.append("oiled threads")
        if check.wrench:
            said.append(f"wrench: {_wrench(check)}")
        wheels: dict[str, list[str]] = {}
        for each in check.places.all():
            wheels.setdefault(_reached(each, check.unit), []).append(each.place)
        reached = [f"{words}: {self.words.places(at)}" for words, at in wheels.items()]
        makers = _makers_figure(check)
        return ". ".join(filter(None, (", ".join(said), makers, "; ".join(reached))))

    def _torque_of(self, check: TorqueCheck) -> str:
        named = {each.place for each in check.places.all()}
        return "Torque" if named - WHEEL_PLACES.keys() else "Wheel torque"

    def _warranty(self, row: ServiceRecord) -> str:
        """`Warranty on the brakes until 4 May 2027 or 52,000 mi`"""
        ends = []
        if row.warranty_until is not None:
            ends.append(day(row.warranty_until))
        if row.warranty_value is not None:
            ends.append(self.words.value(row.warranty_meter, row.warranty_value))
        if not ends:
            return ""
        covers = f" on {row.warranty_covers}" if row.warranty_covers else ""
        return f"Warranty{covers} until {' or '.join(ends)}"

    def _entered_too(self, row: ServiceRecord) -> str:
        """Of a record that was found to be the same work as this one."""
        words = f"{self._entered(row)}, done by {_doer(row)}"
        paid = f", {total}" if (total := _total(row)) else ""
        return f"Duplicate merged. {words}{paid}"

    def _entered(self, row: ServiceRecord) -> str:
        by = f" by {row.entered_by}" if row.entered_by else ""
        return f"Entered {day(row.entered_at)}{by}"

    def _late(self, row: ServiceRecord) -> str:
        late = days_late(row, self.zone)
        return f"{late} days after the work" if late > LATE_AFTER else ""

    def _amended(self, row: ServiceRecord) -> Iterator[str]:
        """`Amended 4 May 2026 by Ann: notes: was “a”, is “b”. Because: typing slip`"""
        for each in amendments(row.links.all()):
            on = day(each.at)
            changes = "; ".join(each.changes)
            yield f"Corrected {on} by {each.by}: {changes}. Reason: {each.why}"

    def _void(self, row: ServiceRecord) -> str:
        if row.voided_at is None:
            return ""
        by = f" by {row.voided_by}" if row.voided_by else ""
        on = day(row.voided_at)
        return f"voided {on}{by}: {row.why_voided}"


def days_late(row: ServiceRecord, zone: tzinfo) -> int:
    """Days from the last day of the work to the household's day of entry."""
    return (localdate(row.entered_at, zone) - (row.until or row.on)).days


def _apart(lines: list[Line], done_by: str) -> tuple[tuple[Line, ...], str]:
    """Of a member's long round, what is worth a line of its own, and the rest run
    together. Each job of a shop keeps its line."""
    if done_by != DoneBy.MEMBER or len(lines) <= ALL_APART:
        return tuple(lines), ""
    plain = [line for line in lines if line == Line(line.what)]
    apart = tuple(line for line in lines if line not in plain)
    return apart, "; ".join(line.what for line in plain)


def _outcome(outcome: str) -> str:
    """Nothing for what was simply done: that is what the list is about."""
    return "" if outcome == Outcome.DONE else str(Outcome(outcome).label).lower()


def _doer(row: ServiceRecord) -> str:
    place = f", {row.place}" if row.place else ""
    return f"{row.doer}{BY.get(DoneBy(row.done_by), '')}{place}"


def _lines(row: ServiceRecord) -> list[RecordLine]:
    """The record's own, then those that only a record merged into it has."""
    lines = list(row.lines.all())
    for other in row.merged.all():
        known = {(line.item_id, line.title) for line in lines}
        more = other.lines.all()
        lines += [x for x in more if (x.item_id, x.title) not in known]
    return lines


def _attachments(row: ServiceRecord) -> list[Attachment]:
    merged = (each for other in row.merged.all() for each in other.attachments.all())
    return [*row.attachments.all(), *merged]


def _signed(row: ServiceRecord) -> str:
    if not row.signed_off_by:
        return ""
    return f"{row.signed_off_by}{f', {row.credential}' if row.credential else ''}"


def _parts(row: ServiceRecord) -> tuple[str, ...]:
    """`Pad set HX-2207, 2 at 45.00`; the record's own, then those that only a record
    merged into it names."""
    used = list(row.parts_used.all())
    for other in row.merged.all():
        known = {(part.name, part.number) for part in used}
        more = other.parts_used.all()
        used += [x for x in more if (x.name, x.number) not in known]
    return tuple(_part(part, row.currency) for part in used)


def _part(part: PartUsed, currency: str) -> str:
    words = f"{part.name} {part.number}".strip()
    count = "" if part.quantity == 1 else show_number(part.quantity, places=2)
    price = "" if part.price is None else f"at {money_words(part.price, currency)}"
    return ", ".join(filter(None, (words, f"{count} {price}".strip())))


def _brought(row: ServiceRecord) -> str:
    """Which row of which file it came in from."""
    origins = [each for each in row.brought_rows.all() if not each.withdrawn]
    if not origins:
        return ""
    numbers = ", ".join(str(each.number) for each in origins)
    return f"Imported from “{origins[0].bringing.file_name}”, row {numbers}"


def _wrench(check: TorqueCheck) -> str:
    """`1/2 in, 20 to 150 ft·lbf, calibration in time`"""
    said = [check.wrench, check.wrench_range]
    if check.wrench_calibrated is not None:
        overdue = "" if check.wrench_calibrated else "overdue"
        said.append(f"calibration {overdue or 'in time'}")
    return ", ".join(filter(None, said))


def _makers_figure(check: TorqueCheck) -> str:
    if check.makers_figure is None or check.makers_figure == check.figure:
        return ""
    source = f" ({check.makers_source})" if check.makers_source else ""
    figure = measure(check.makers_figure, check.unit)
    return f"Manufacturer's figure: {figure}{source}"


def _reached(wheel: TorquePlace, unit: str) -> str:
    words = "Held" if wheel.held else "Checked"
    if wheel.reached is not None:
        words = f"Reached {measure(wheel.reached, unit)}"
    if wheel.figure is not None:
        words = f"{words} of {measure(wheel.figure, unit)}"
    return f"{words}, a nut had moved" if wheel.moved else words


def paid(row: ServiceRecord) -> Decimal | None:
    """The total, or what its parts come to; None when no cost is known."""
    if row.total is not None:
        return row.total
    known = [part for part in (row.parts, row.labor, row.tax) if part is not None]
    return sum(known, Decimal(0)) if known else None


def _total(row: ServiceRecord) -> str:
    amount = paid(row)
    return "" if amount is None else money_words(amount, row.currency)


def _costs(row: ServiceRecord) -> str:
    named = (("parts", row.parts), ("labor", row.labor), ("tax", row.tax))
    said = (
        f"{name} {money_words(part, row.currency)}"
        for name, part in named
        if part is not None
    )
    words = ", ".join(said)
    return words[:1].upper() + words[1:]


def sums(rows: Iterable[ServiceRecord]) -> str:
    """What was paid, by currency; void records left out."""
    total: Counter[str] = Counter()
    for row in rows:
        if row.voided_at is None and (amount := paid(row)) is not None:
            total[row.currency] += amount  # type: ignore[assignment]
    return ", ".join(money_words(Decimal(total[name]), name) for name in sorted(total))


def by_year(rows: Iterable[ServiceRecord], setter: RecordSetter) -> tuple[Year, ...]:
    return tuple(
        _year(year, list(group), setter)
        for year, group in groupby(rows, key=lambda row: row.on.year)
    )


def _year(year: int, rows: list[ServiceRecord], setter: RecordSetter) -> Year:
    parts = [counted(len(rows), "record"), sums(rows)]
    return Year(year, ", ".join(filter(None, parts)), tuple(map(setter.record, rows)))
