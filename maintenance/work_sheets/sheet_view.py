"""The work sheet as rows to render: steps, values with a word on each, wheels."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from django.forms import BoundField

from maintenance.components.axles import axle_of
from maintenance.core.measured import Figure, Limits, judge_figures
from maintenance.library.model import Measure, Procedure
from maintenance.plans.measures import (
    Bounds,
    deviation_words,
    figure_words,
    is_outside,
    verdict_words,
)
from maintenance.ui.words import moment_words
from maintenance.vehicles.models import WHEEL_PLACES
from maintenance.work_sheets.forms.measuring import MeasureSlot
from maintenance.work_sheets.forms.work_sheet import TICK, WorkSheetForm
from maintenance.work_sheets.models import SheetEntry

from .lugs import TorqueUnit, is_lug_torque


@dataclass(frozen=True, slots=True)
class Cell:
    """A field with what is said of the value in it."""

    name: str
    field: BoundField
    unit: str
    said: str
    outside: bool


@dataclass(frozen=True, slots=True)
class ValueLine:
    """A thing measured once."""

    name: str
    limits: str
    source: str
    cell: Cell


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A wheel, or another place that is named in `at`."""

    place: str
    words: str
    at: BoundField | None
    cells: list[Cell]
    moved: BoundField | None


@dataclass(frozen=True, slots=True)
class Column:
    """Things measured at each place, together where all but the name is the same."""

    names: tuple[str, ...]
    per: str
    unit: str
    limits: str
    source: str


@dataclass(frozen=True, slots=True)
class SheetView:
    """`rest` are the places that can be left out: wheels that no follow-up asks for,
    further places without a name yet. `shown` are the fields filled."""

    form: WorkSheetForm
    steps: list[tuple[BoundField, bool]]
    progress: str
    kept: str
    lines: list[ValueLine] = field(default_factory=list)
    columns: list[Column] = field(default_factory=list)
    rows: list[PlaceRow] = field(default_factory=list)
    rest: list[PlaceRow] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)


def sheet_view(
    form: WorkSheetForm,
    entries: Sequence[SheetEntry],
    bounds: Bounds,
    places_asked: Iterable[str],
) -> SheetView:
    once = [one for one in form.asked if not one.measure.per]
    rows = _rows(form, bounds)
    wanted = set(places_asked) & {row.place for row in rows} or _first_places(rows)
    return SheetView(
        form=form,
        steps=[
            (form[name], bool(form[name].value()))
            for name in form.fields
            if name.startswith(TICK)
        ],
        progress=progress_words(form, entries),
        kept=kept_words(entries),
        lines=[_line(form, one, bounds) for one in once],
        columns=_columns(form, bounds),
        rows=[row for row in rows if row.place in wanted],
        rest=[row for row in rows if row.place not in wanted],
        shown=[row.field for row in entries],
    )


def progress_words(form: WorkSheetForm, entries: Iterable[SheetEntry]) -> str:
    """“5 of 8 steps”; empty without steps."""
    if not form.steps:
        return ""
    known = {name for name in form.fields if name.startswith(TICK)}
    done = sum(row.field in known for row in entries)
    return f"{done} of {len(known)} steps"


def kept_words(entries: Iterable[SheetEntry]) -> str:
    """“kept 4 May, 14:05, Mara”: who touched the sheet last."""
    last = max(entries, key=lambda row: row.kept_at, default=None)
    if last is None:
        return ""
    at = moment_words(last.kept_at)
    by = f", {last.kept_by}" if last.kept_by else ""
    return f"saved {at}" + by


def cell_of(form: WorkSheetForm, asked: MeasureSlot, bounds: Bounds) -> Cell:
    limits = _limits(form, asked, bounds)
    value = _value(form, asked.field)
    outside = value is not None and is_outside(value, limits)
    said = "" if value is None else _said(value, limits, asked.measure)
    if value is not None and not outside and (apart := _apart_words(form, asked)):
        said, outside = apart, True
    name = asked.measure.name
    return Cell(name, form[asked.field], limits.unit, said, outside)


def _apart_words(form: WorkSheetForm, asked: MeasureSlot) -> str:
    """What its neighbors say of a value; empty where nothing is wrong with it."""
    comparisons = form.procedure.comparisons if form.procedure else ()
    if not comparisons:
        return ""
    values = [(slot, _value(form, slot.field)) for slot in form.asked]
    known = [(slot, value) for slot, value in values if value is not None]
    figures = [
        Figure(
            slot.measure.name.casefold(),
            value,
            slot.measure.unit,
            slot.place,
            axle_of(slot.place),
        )
        for slot, value in known
    ]
    for found in judge_figures(figures, lambda _figure: None, comparisons):
        if known[found.index][0] == asked:
            return deviation_words(found)
    return ""


def _said(value: Decimal, limits: Limits, measure: Measure) -> str:
    if not is_lug_torque(measure):
        return verdict_words(value, limits)
    if limits.low is None:
        return ""
    if value >= limits.low:
        return "reached"
    figure = figure_words(limits.low, limits.unit)
    return f"below the specified {figure}"


def _limits(form: WorkSheetForm, asked: MeasureSlot, bounds: Bounds) -> Limits:
    if is_lug_torque(asked.measure):
        figure, unit = figure_in(form)
        return Limits(figure, None, unit)
    return bounds.at(asked.measure, asked.place)


def figure_in(form: WorkSheetForm) -> tuple[Decimal | None, str]:
    """The specified torque as it stands in the sheet, with its unit."""
    unit = form.data.get("unit") or form.initial.get("unit")
    known = unit if unit in TorqueUnit.values else TorqueUnit.FOOT_POUNDS.value
    figure = _value(form, "figure")
    return (figure if figure and figure > 0 else None), known


def _value(form: WorkSheetForm, name: str) -> Decimal | None:
    """What is entered, or kept; None for nothing and for what is no number."""
    if form.is_bound and name in form.data:
        return None if name in form.errors else form.cleaned_data.get(name)
    try:
        return Decimal(form.initial[name])
    except (KeyError, InvalidOperation):
        return None


def _line(form: WorkSheetForm, asked: MeasureSlot, bounds: Bounds) -> ValueLine:
    measure = asked.measure
    return ValueLine(
        name=measure.name,
        limits=bounds.words(measure),
        source=source_words(form.procedure, measure),
        cell=cell_of(form, asked, bounds),
    )


def _columns(form: WorkSheetForm, bounds: Bounds) -> list[Column]:
    found: dict[tuple[str, ...], list[str]] = {}
    for one in dict.fromkeys(one.measure for one in form.asked if one.measure.per):
        unit = figure_in(form)[1] if is_lug_torque(one) else one.unit
        source = source_words(form.procedure, one)
        key = (one.per, unit, bounds.words(one), source)
        found.setdefault(key, []).append(one.name)
    return [Column(tuple(names), *rest) for rest, names in found.items()]


def _first_places(rows: Sequence[PlaceRow]) -> set[str]:
    """All wheels; of other places the first two, and those that have a name."""
    return {
        row.place
        for number, row in enumerate(rows)
        if row.at is None or number < 2 or row.at.value()
    }


def _rows(form: WorkSheetForm, bounds: Bounds) -> list[PlaceRow]:
    by_place: dict[str, list[MeasureSlot]] = {}
    for one in form.asked:
        if one.measure.per:
            by_place.setdefault(one.place or one.at, []).append(one)
    return [
        PlaceRow(
            place=place,
            words=WHEEL_PLACES.get(place, ""),
            at=form[asked[0].at] if asked[0].at else None,
            cells=[cell_of(form, one, bounds) for one in asked],
            moved=form[f"moved_{place}"] if f"moved_{place}" in form.fields else None,
        )
        for place, asked in by_place.items()
    ]


def source_words(procedure: Procedure | None, measure: Measure) -> str:
    """Where the limit is from: the source of that name, else one that speaks of the
    measure or of its limit."""
    sources = procedure.sources if procedure else ()
    figures = {f"{n}" for n in (measure.low, measure.high) if n is not None}
    named = [one for one in sources if one.of == measure.name]
    speaking = [
        one
        for one in sources
        if measure.name in one.of or figures.intersection(one.of.split())
    ]
    found = next(iter(named + speaking), None)
    if found is None:
        return ""
    return f"{found.kind}: {found.text}" if found.text else found.kind
