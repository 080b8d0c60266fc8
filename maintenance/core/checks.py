"""Facts that cannot be used: days after the as-of date, meters that are not there."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from maintenance.core.facts import (
    ON_THE_ROAD,
    Baseline,
    FactError,
    Item,
    Rig,
    Unit,
    Values,
)
from maintenance.core.triggers.kind import Kind, kinds_of

# A list in the rig, the index in it ("" for a single value), and what stands there.
# Places are put together only for a refusal: there are thousands of facts.
Index = int | str
Dated = tuple[str, Index, date | None]


def check_rig(rig: Rig, as_of: date, place: str = "rig") -> None:
    """Raise `FactError` for the first fact that cannot be, naming its place."""
    for where, i, on in _days(rig):
        if on is not None and on > as_of:
            raise FactError(_place(place, where, i), f"{on} is after {as_of}")
    for where, i, values in _values(rig):
        for meter in values:
            if meter not in rig.meters and meter not in ON_THE_ROAD:
                problem = f'the rig has no "{meter}"'
                raise FactError(_place(place, where, i), problem)
    units = rig.units
    for i, item in enumerate(rig.items):
        for j, trigger in enumerate(kinds_of(item)):
            _check_meter(units, trigger, f"{place}.items[{i}].triggers[{j}]")


def _place(rig: str, where: str, index: Index) -> str:
    return f"{rig}.{where}[{index}]" if index != "" else f"{rig}.{where}"


def _days(rig: Rig) -> Iterator[Dated]:
    """Every day on which something has happened."""
    for name, meter in rig.meters.items():
        readings = (reading.on for reading in meter.readings)
        yield from _numbered(f"meters.{name}.readings", readings)
        runs = (run.on for run in meter.runs or ())
        yield from _numbered(f"meters.{name}.runs", runs)
        replaced = (one.on for one in meter.replaced)
        yield from _numbered(f"meters.{name}.replaced", replaced)
        if meter.fitted is not None:
            yield f"meters.{name}.fitted.on", "", meter.fitted.on
    for name, vehicle in rig.tow_vehicles.items():
        readings = (reading.on for reading in vehicle.odometer.readings)
        yield from _numbered(f"tow_vehicles.{name}.readings", readings)
    yield from _numbered("not_towed", (one.said_on for one in rig.not_towed))
    if rig.in_service is not None:
        yield "in_service.on", "", rig.in_service.on
    yield from _numbered("stays", (stay.until for stay in rig.stays))
    yield from _numbered("events", (event.on for event in rig.events))
    for i, item in enumerate(rig.items):
        yield from _days_of(item, f"items[{i}]")


def _days_of(item: Item, place: str) -> Iterator[Dated]:
    yield from _numbered(f"{place}.done", (one.until or one.on for one in item.done))
    if isinstance(item.baseline, Baseline):
        yield f"{place}.baseline.on", "", item.baseline.on
    stated = (one.stated_day() for one in kinds_of(item))
    yield from _numbered(f"{place}.triggers", stated)


def _numbered(place: str, days: Iterable[date | None]) -> Iterator[Dated]:
    return ((place, i, on) for i, on in enumerate(days))


def _values(rig: Rig) -> Iterator[tuple[str, Index, Values]]:
    if rig.in_service is not None:
        yield "in_service", "", rig.in_service.values
    for i, event in enumerate(rig.events):
        yield "events", i, event.values
    for i, item in enumerate(rig.items):
        if isinstance(item.baseline, Baseline):
            yield f"items[{i}].baseline", "", item.baseline.values
        place = f"items[{i}].done"
        for j, one in enumerate(item.done):
            yield place, j, one.values


def _check_meter(units: Mapping[str, Unit], trigger: Kind, place: str) -> None:
    counted_on = trigger.counted_on()
    if counted_on is None:
        return
    name, unit = counted_on
    own = units.get(name)
    if own is None:
        has = ", ".join(units) or "none"
        raise FactError(place, f'the rig has no "{name}"; it has {has}')
    if (own == "h") != (unit == "h"):
        raise FactError(place, f'"{name}" counts in {own}')
