"""Figures, days, places and money as the print says them."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal

from maintenance.ui.templatetags.ui import day, measure
from maintenance.vehicles.models import WHEEL_PLACES, Meter, MeterKind

NBSP = "\N{NO-BREAK SPACE}"
# The odometer needs no name: no other meter of a record counts miles.
SHORT_NAMES = {
    MeterKind.ODOMETER: "",
    MeterKind.ENGINE: "engine",
    MeterKind.GENERATOR: "generator",
    MeterKind.TOWED: "towed",
}


def span(start: date, end: date | None) -> str:
    """`1 May 2026`, or `between 1 Apr 2026 and 1 May 2026`."""
    if end is None or end == start:
        return day(start)
    return f"between {day(start)} and {day(end)}"


def joined(words: Iterable[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    *first, final = words
    return f"{', '.join(first)} {last} {final}" if first else final


class RigWords:
    """The meters and wheels of one rig, to say values with their unit, and places."""

    def __init__(self, meters: Iterable[Meter], wheels: Collection[str]) -> None:
        self.units = {meter.kind: meter.unit for meter in meters}
        self.wheels = wheels

    def value(self, kind: str, value: Decimal | str) -> str:
        return measure(Decimal(value), self.units.get(kind, ""))

    def named(self, kind: str, value: Decimal | str) -> str:
        """`42,310 mi`, `generator 311.4 h`."""
        known = kind in MeterKind.values
        name = SHORT_NAMES[MeterKind(kind)] if known else kind.replace("_", " ")
        return f"{name} {self.value(kind, value)}".strip()

    def all(self, values: Mapping[str, str]) -> tuple[str, ...]:
        return tuple(self.named(kind, value) for kind, value in values.items())

    def places(self, codes: Collection[str] | None) -> str:
        """`left front and right rear`, `all wheels`; nothing where none is named."""
        if not codes:
            return ""
        if set(codes) >= set(self.wheels):
            return "all wheels"
        return joined(WHEEL_PLACES.get(code, code) for code in codes)
