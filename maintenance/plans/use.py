"""The use of a rig's meters: what was read, and what is expected from now on."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from maintenance.core.rigday import RigDay
from maintenance.ui.charts import BandChart
from maintenance.vehicles.models import MeterKind, Rig

from .queries import load_rigs
from .wording import word

AHEAD = timedelta(days=365)
BACK = timedelta(days=3 * 365)  # what a chart shows of the past


@dataclass(frozen=True)
class Use:
    """Values as the meter shows them; `table` repeats the picture in numbers."""

    chart: BandChart
    meter: str
    table: list[tuple[date, Decimal, Decimal, Decimal]]
    why: list[str]


def uses_of(rig: Rig, as_of: date) -> dict[str, Use]:
    """By meter kind, for the meters with a reading."""
    known = load_rigs([rig], as_of)[rig.pk]
    day = RigDay(known, rig.household.calendar, as_of)
    return {
        kind: _use(day, kind, as_of) for kind in day.tracks if day.tracks[kind].days
    }


def _use(day: RigDay, kind: str, as_of: date) -> Use:
    track, forecast = day.tracks[kind], day.use(kind)
    offset = float(track.scale.offset)
    band = [
        (on, low - offset, middle - offset, high - offset)
        for on, low, middle, high in forecast.band(as_of + AHEAD)
    ]
    read = zip(track.days, track.values, strict=True)
    label = str(MeterKind(kind).label)
    return Use(
        chart=BandChart(
            title=label,
            unit=track.unit,
            known=[(on, float(v) - offset) for on, v in read if on >= as_of - BACK],
            expected=band,
            today=as_of,
            known_label=_("read"),
            expected_label=_("likely, 8 times in 10"),
        ),
        meter=label,
        table=[_rounded(row) for row in band[::13]],
        why=[word(fact, as_of) for fact in forecast.why],
    )


def _rounded(
    row: tuple[date, float, float, float],
) -> tuple[date, Decimal, Decimal, Decimal]:
    on, low, middle, high = row
    return on, Decimal(round(low)), Decimal(round(middle)), Decimal(round(high))
