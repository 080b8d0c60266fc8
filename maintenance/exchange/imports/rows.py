"""What each row says, and whether it can come in."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from maintenance.core.tables import Cell, DayOrder, day_of, number_of
from maintenance.core.units import UnitError, convert
from maintenance.plans.measures import Measured
from maintenance.plans.models import Outcome, PlanItem
from maintenance.ui.words import day_words
from maintenance.work_sheets.judging import Judge

from .figures import read_figures
from .layout import COSTS, Layout

Verdict = Literal["good", "doubtful", "refused", "known"]
TITLE, NOTE, DOER, PLACE = 120, 300, 80, 80
LARGEST_READING = Decimal("9999999.9")
LARGEST_COST = Decimal("99999999.99")
OUTCOMES = {
    str(words).casefold(): value
    for value, label in Outcome.choices
    for words in (value, label)
}


@dataclass(frozen=True)
class Way:
    """How the figures of a table are to be read, and for which rig."""

    order: DayOrder | None
    comma: bool
    unit: str  # of distances in the table
    meters: Mapping[str, str]  # kind -> unit of the rig's own meters
    jobs: Mapping[str, PlanItem]
    today: date
    in_service_on: date
    since_1904: bool = False
    judges: Mapping[int, Judge] = field(default_factory=dict)  # item id -> its limits
    wheels: Sequence[str] = ()


@dataclass(frozen=True)
class Row:
    """One row as it was understood. `refusal` says why it cannot come in and what to
    do; `doubts` what a reader should look at."""

    number: int
    shown: str  # the day as it stands in the file
    title: str = ""
    on: date | None = None
    until: date | None = None
    item: PlanItem | None = None
    outcome: str = Outcome.DONE
    values: Mapping[str, Decimal] = field(default_factory=dict)
    costs: Mapping[str, Decimal] = field(default_factory=dict)
    doer: str = ""
    place: str = ""
    invoice: str = ""
    note: str = ""
    notes: str = ""
    measures: tuple[Measured, ...] = ()
    refusal: str = ""
    doubts: tuple[str, ...] = ()
    questionable: frozenset[str] = frozenset()  # meters whose values do not fit
    digest: str = ""
    known: bool = False  # a row that says the same is in already

    @property
    def verdict(self) -> Verdict:
        if self.refusal:
            return "refused"
        if self.known:
            return "known"
        return "doubtful" if self.doubts else "good"

    @property
    def reasons(self) -> tuple[str, ...]:
        return (self.refusal,) if self.refusal else self.doubts

    @property
    def invoice_key(self) -> tuple[Any, ...]:
        """Rows alike in this are one record; without a number, each is its own."""
        one = self.invoice or self.number
        return (self.on, self.until, self.doer.casefold(), one)


def read_rows(layout: Layout, way: Way) -> list[Row]:
    """Every row below the names, with its digest.

    The digest is of what the row says, not of how it is written, so that the same work
    in another file, by other columns, is known again. Rows that say the same within a
    file are told apart by their count.
    """
    seen: Counter[str] = Counter()
    found = []
    for number, cells in layout.body:
        row = _Reader(layout, way, number, cells).row()
        told = _told(row, way)
        seen[told] += 1
        digest = hashlib.sha256(f"{told}{seen[told]}".encode()).hexdigest()
        found.append(replace(row, digest=digest))
    return found


def _told(row: Row, way: Way) -> str:
    values = {m: f"{v.normalize():f}" for m, v in sorted(row.values.items())}
    costs = {m: f"{v.normalize():f}" for m, v in sorted(row.costs.items())}
    said = [
        str(row.on), str(row.until or ""), row.title.casefold(), row.outcome, values,
        costs, row.doer, row.place, row.invoice, row.note, row.notes,
    ]  # fmt: skip
    return json.dumps(said, ensure_ascii=False)


@dataclass
class _Reader:
    """Reads one row and gathers what is to be said of it."""

    layout: Layout
    way: Way
    number: int
    cells: Sequence[Cell]
    doubts: list[str] = field(default_factory=list)
    to_notes: list[str] = field(default_factory=list)
    refusal: str = ""

    def row(self) -> Row:
        title = " ".join(str(self._cell("what")).split())
        on, until = self._days()
        if not title:
            self._refuse("What was done is missing. Enter it, like “oil change”.")
        item = self.way.jobs.get(title)
        values = dict(self._values(until))
        costs = dict(self._costs())
        row = Row(
            number=self.number,
            shown=str(self._cell("on")),
            title=self._cut(title, TITLE, "Job"),
            on=on,
            until=until,
            item=item,
            outcome=self._outcome(),
            values=values,
            costs=costs,
            doer=self._cut(self._text("doer"), DOER, "Done by"),
            place=self._cut(self._text("place"), PLACE, "Where"),
            invoice=self._invoice(),
            note=self._cut(self._text("note"), NOTE, "Note"),
            measures=self._measures(item),
        )
        notes = "\n".join(filter(None, [self._text("notes"), *self.to_notes]))
        return replace(
            row, notes=notes, refusal=self.refusal, doubts=tuple(self.doubts)
        )

    def _cell(self, wanted: str) -> Cell:
        for column, holds in self.layout.columns.items():
            if holds == wanted:
                return self.cells[column]
        return ""

    def _text(self, wanted: str) -> str:
        cell = self._cell(wanted)
        return f"{cell.normalize():f}" if isinstance(cell, Decimal) else cell.strip()

    def _invoice(self) -> str:
        number = self._text("invoice")
        if number:
            self.to_notes.append(f"Invoice or record {number[:60]}")
        return number[:60]

    def _refuse(self, words: str) -> None:
        self.refusal = self.refusal or words

    def _cut(self, text: str, most: int, name: str) -> str:
        """What is too long for its place stands in the notes whole."""
        if len(text) > most:
            self.to_notes.append(f"{name}: {text}")
            return text[: most - 1] + "…"
        return text

    def _days(self) -> tuple[date | None, date | None]:
        on = self._day("on")
        if not str(self._cell("on")).strip():
            self._refuse("The day is missing. Fill it in.")
        elif on is None:
            self._refuse(
                f"“{str(self._cell('on'))[:40]}” isn't a day. "
                f"Enter it like {day_words(date(2024, 5, 31))}."
            )
        until = self._until(on)
        last = until or on
        if last and last > self.way.today:
            self._refuse("This day is in the future. Correct it.")
        if on and on < self.way.in_service_on:
            self.doubts.append("It's before the rig went into service.")
        return on, until

    def _until(self, on: date | None) -> date | None:
        until = self._day("until")
        if str(self._cell("until")).strip() and until is None:
            self._kept("until", "Until")
        if on and until and until < on:
            self._refuse("The last day is before the first. Correct it.")
        return None if until == on else until

    def _day(self, wanted: str) -> date | None:
        way = self.way
        return day_of(self._cell(wanted), order=way.order, since_1904=way.since_1904)

    def _outcome(self) -> str:
        words = self._text("outcome")
        found = OUTCOMES.get(words.casefold(), "") if words else Outcome.DONE
        if not found:
            self._kept("outcome", "Outcome")
        if found == Outcome.FAULT_FOUND:
            self.doubts.append(
                "It goes on the Not right list, unless a later record of the same "
                "job is "
                "known. If it was fixed, mark it “It's fixed”."
            )
        return found or Outcome.DONE

    def _measures(self, item: PlanItem | None) -> tuple[Measured, ...]:
        """Of the column of figures, and what the notes name as a figure."""
        judge = self.way.judges.get(item.pk, Judge()) if item else Judge()
        known = judge.procedure.measures if judge.procedure else ()
        found = read_figures(self._text("measured"), known, self.way.wheels)
        if found.left:
            self._kept("measured", "Measured")
        told = found.read
        for wanted in ("note", "notes"):
            text = self._text(wanted)
            more = read_figures(text, known, self.way.wheels, in_notes=True)
            told += tuple(one for one in more.read if one not in told)
        if words := judge.judge("", told).words:
            self.doubts.append(f"Imported as a fault found: {words}.")
        return told

    def _kept(self, wanted: str, name: str) -> None:
        """What cannot be read is not lost, and not counted."""
        words = f"{name}: {self._text(wanted)[:200]}"
        self.to_notes.append(words)
        self.doubts.append(f"Not understood, kept in the notes: {words}")

    def _values(self, until: date | None) -> Iterator[tuple[str, Decimal]]:
        for kind in ("odometer", "engine", "generator"):
            value = self._figure(kind, LARGEST_READING)
            if value is None:
                continue
            unit = self.way.meters.get(kind)
            if unit is None:
                self.doubts.append(
                    "The rig has no such meter, so this is kept in the notes."
                )
                self.to_notes.append(f"{kind}: {value} {self._unit(kind)}")
            else:
                own = convert(value, self._unit(kind), unit)
                yield kind, own.quantize(Decimal("0.1"))

    def _unit(self, kind: str) -> str:
        return self.way.unit if kind == "odometer" else "h"

    def _costs(self) -> Iterator[tuple[str, Decimal]]:
        for name in COSTS:
            value = self._figure(name, LARGEST_COST)
            if value is not None:
                yield name, value.quantize(Decimal("0.01"))

    def _figure(self, wanted: str, most: Decimal) -> Decimal | None:
        try:
            value = number_of(self._cell(wanted), decimal_comma=self.way.comma)
        except UnitError:
            value = Decimal(-1)
        if value is None or 0 <= value <= most:
            return value
        self._kept(wanted, wanted.capitalize())
        return None
