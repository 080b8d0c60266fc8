"""Fuel stops as the core reckons with them, and how far the fuel goes."""

from collections.abc import Collection, Iterable, Mapping, Sequence

from maintenance.core.calculators.answers import Answer, CalculatorError
from maintenance.core.calculators.cost import Fill, fuel_economy
from maintenance.core.meters import Track
from maintenance.core.units import convert

from .models import FuelStop, MeterKind, Rig


def stops_of(rigs: Collection[Rig]) -> list[FuelStop]:
    """As they were given, in the order of the road."""
    rows = FuelStop.objects.filter(
        reading__meter__rig__in=rigs, reading__withdrawn=False
    ).select_related("reading__meter")
    return list(rows.order_by("reading__on", "reading__value", "pk"))


def fills_of(
    stops: Iterable[FuelStop], tracks: Mapping[int, Mapping[str, Track]]
) -> dict[int, list[Fill]]:
    """Rig id -> those of its fuel stops that count, at true values of the odometer;
    `tracks` are those of each rig, by kind of meter."""
    found: dict[int, list[Fill]] = {rig: [] for rig in tracks}
    for stop in stops:
        if stop.reading.doubtful:
            continue
        rig = stop.reading.meter.rig_id
        track = tracks[rig][MeterKind.ODOMETER]
        at = track.scale.true(stop.reading.value, stop.reading.on)
        volume = convert(stop.volume, stop.unit, volume_unit(track.unit))
        found[rig].append(Fill(at, volume, stop.full, stop.price))
    return found


def economy(fills: Sequence[Fill], track: Track | None) -> Answer | None:
    """Distance per volume; None where the stops give no figure or do not fit."""
    if track is None:
        return None
    unit = track.unit
    try:
        return fuel_economy(fills, distance_unit=unit, volume_unit=volume_unit(unit))
    except CalculatorError:
        return None


def volume_unit(distance_unit: str) -> str:
    return "gal" if distance_unit == "mi" else "L"
