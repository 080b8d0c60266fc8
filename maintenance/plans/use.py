"""The use of a rig's meters: what was read, and what is expected from now on."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import ODOMETER, TOWED, WHEEL_DISTANCE
from maintenance.core.meters import Track
from maintenance.core.timeline import RigTimeline
from maintenance.core.units import show
from maintenance.ui.charts import BandChart
from maintenance.vehicles.models import MeterKind, Rig
from maintenance.vehicles.queries import use_facts

from .habits import kept_habits
from .wording.facts import word

AHEAD = timedelta(days=365)
BACK = timedelta(days=3 * 365)  # what a chart shows of the past


@dataclass(frozen=True)
class Use:
    """A picture of true values; `table` has the numbers as the meter shows them."""

    chart: BandChart
    meter: str
    unit: str
    table: list[tuple[date, Decimal, Decimal, Decimal]]
    why: list[str]


def timeline_of(rig: Rig, as_of: date) -> RigTimeline:
    """What its meters, stays and trips tell of its use, without what happened to it."""
    known = use_facts([rig], as_of)[rig.pk].without_items()
    kept = kept_habits([rig])[rig.pk]
    return RigTimeline(known, rig.household.calendar, as_of, kept)


def uses_of(day: RigTimeline) -> dict[str, Use]:
    """By meter kind, for the meters with a reading."""
    kinds = (kind for kind in day.rig.meters if day.tracks[kind].days)
    return {kind: _use(day, kind, day.as_of) for kind in kinds}


def wheel_words(tracks: Mapping[str, Track]) -> str:
    """What a car that is also towed has rolled, as both; nothing of another rig."""
    both = tracks.get(WHEEL_DISTANCE)
    if both is None or both.shown_last is None:
        return ""
    driven, towed = (tracks[x].shown_last or Decimal(0) for x in (ODOMETER, TOWED))
    return (
        f"Wheels and bearings have gone {show(both.shown_last, both.unit)}: "
        f"{show(driven, both.unit)} on the odometer and "
        f"{show(towed, tracks[TOWED].unit)} towed."
    )


def _use(day: RigTimeline, kind: str, as_of: date) -> Use:
    track, forecast = day.tracks[kind], day.use(kind)
    offset = float(track.scale.offset)
    band = forecast.band(as_of + AHEAD)
    read = zip(track.days, track.values, strict=True)
    label = str(MeterKind(kind).label)
    return Use(
        chart=BandChart(
            title=label,
            # The picture runs on through a replaced meter; the table does not.
            unit=f"{track.unit}, old and new meter" if offset else track.unit,
            known=[(on, float(v)) for on, v in read if on >= as_of - BACK],
            expected=band,
            today=as_of,
            known_label="read",
            expected_label="likely, 8 times in 10",
        ),
        meter=label,
        unit=track.unit,
        table=[_as_shown(row, offset) for row in band[::13]],
        why=[word(fact, as_of) for fact in forecast.why],
    )


def _as_shown(
    row: tuple[date, float, float, float], offset: float
) -> tuple[date, Decimal, Decimal, Decimal]:
    on, *values = row
    low, middle, high = (Decimal(round(value - offset)) for value in values)
    return on, low, middle, high
