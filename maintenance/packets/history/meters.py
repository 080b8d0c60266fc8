"""Meters and their readings as the print shows them."""

import base64
from collections.abc import Iterable, Mapping
from datetime import date

from maintenance.core.meters import RunTrack, Track
from maintenance.plans.use import Use
from maintenance.ui.charts import draw_band
from maintenance.ui.templatetags.ui import day, measure
from maintenance.vehicles.models import Meter, MeterReplacement, Reading

from .model import DatedRow, MeterSheet, MonthsRow

LISTED = 24  # readings; of more, the last good one of each month and all marked ones


def since_new(track: Track) -> str:
    """The true value, where the meter was replaced or rolled over."""
    if not track.scale.offset or track.known is None:
        return ""
    return measure(track.known, track.unit)


def known(meter: Meter, track: Track) -> str:
    """`Odometer: 42,395 mi on 4 May 2026`, with the true value if it differs."""
    if track.shown_last is None:
        return f"{meter}: no reading"
    words = f"{meter}: {measure(track.shown_last, track.unit)}"
    if track.known_on:
        words += f" on {day(track.known_on)}"
    if isinstance(track, RunTrack):
        words += ", the sum of logged runs"
    if true := since_new(track):
        words += f"; {true} since new, over all meters"
    return words


def meter_sheet(meter: Meter, track: Track, use: Use | None) -> MeterSheet:
    readings = sorted(meter.readings.all(), key=lambda row: (row.on, row.pk))
    marks = _marks(readings)
    few = len(readings) <= LISTED
    listed = [row for row in readings if few or row.pk in marks]
    return MeterSheet(
        name=str(meter),
        summary=known(meter, track),
        chart=_picture(use),
        replaced=tuple(
            _replaced(each, meter)
            for each in meter.replacements.filter(withdrawn=False)
        ),
        months=() if few else _months(readings),
        months_caption=f"Last good reading of each month, in {meter.unit}",
        rows=tuple(_row(row, meter, marks) for row in reversed(listed)),
        rows_caption="Readings, newest first" if few else "Marked readings",
    )


def _picture(use: Use | None) -> str:
    """What was read and what is expected, as on the rig's page."""
    if use is None or not use.table:
        return ""
    svg = base64.b64encode(draw_band(use.chart)).decode()
    return f"data:image/svg+xml;base64,{svg}"


def _replaced(row: MeterReplacement, meter: Meter) -> str:
    return (
        f"Replaced or rolled over on {day(row.on)}: the old meter ended at"
        f" {measure(row.old_final, meter.unit)}, the new one began at"
        f" {measure(row.new_start, meter.unit)}."
    )


def _months(readings: Iterable[Reading]) -> tuple[MonthsRow, ...]:
    years: dict[int, list[str]] = {}
    for row in readings:
        if not (row.doubtful or row.withdrawn):
            values = years.setdefault(row.on.year, [""] * 12)
            values[row.on.month - 1] = measure(row.value)
    return tuple(MonthsRow(year, tuple(years[year])) for year in sorted(years)[::-1])


def _row(row: Reading, meter: Meter, marks: Mapping[int, str]) -> DatedRow:
    return DatedRow(day(row.on), measure(row.value, meter.unit), marks.get(row.pk, ""))


def _marks(readings: Iterable[Reading]) -> dict[int, str]:
    """Reading id -> what a reader must know of it."""
    last_of_day: dict[tuple[date, int | None], int] = {}
    found: dict[int, str] = {}
    for row in readings:
        if row.withdrawn:
            found[row.pk] = "withdrawn, not counted"
            continue
        if row.doubtful:
            found[row.pk] = "questionable, not counted"
        elif row.confirmed:
            found[row.pk] = "confirmed"
        # Given with an event it corrects no other, nor does another correct it.
        before = last_of_day.get((row.on, row.event_id))
        if before is not None:
            found[before] = "corrected the same day"
        last_of_day[row.on, row.event_id] = row.pk
    return found


def distance_by_year(track: Track, years: Iterable[int], as_of: date) -> dict[int, str]:
    """How far (or long) it went in each calendar year, by the readings."""
    found = {}
    for year in years:
        end = track.value_on(min(date(year, 12, 31), as_of))
        if end is None or not track.values:
            continue
        start = track.value_on(date(year - 1, 12, 31))
        gone = end - (track.values[0] if start is None else start)
        found[year] = measure(gone, track.unit)
    return found
