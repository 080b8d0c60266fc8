"""Tire pressure: what it becomes with temperature, and when it is too low.

Pressures are gauge pressures in the unit that is given (`psi`, `kPa`, `bar` …).
"""

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    Figure,
    limits,
    num,
)
from maintenance.core.units import convert, find_unit

GAS_LAW = (
    "Gas law at constant volume: absolute pressure goes with absolute temperature."
)
ATMOSPHERE = (
    "Standard atmosphere, US Standard Atmosphere 1976 (constants from memory, "
    "checked against psychrolib)."
)
COLD = (
    "A tire low on air can burst. Set pressures on cold tires: parked at least 3 hours "
    "or driven under 1 mile. Never let air out of a warm tire.",
    "A wrong pressure can burst a tire. The pressure on the placard or in the tire "
    "manufacturer's load table comes first.",
)
SEA_LEVEL_KPA = Decimal("101.325")

_GAUGE = limits("The pressure", "1", "200", "psi")
_MEASURED = limits("The measured pressure", "0", "300", "psi")
_LOAD = limits("The load", "100", "20000", "lb")
_TEMPERATURE = limits("The temperature", "-60", "200", "°F")
_ALTITUDE = limits("The altitude", "-1500", "20000", "ft")


def atmosphere(altitude_ft: Figure = 0) -> Decimal:
    """Air pressure in kPa at -1,500 to 20,000 ft: 101.325 · (1 - 2.25577e-5 m)^5.2559.

    Source: US Standard Atmosphere 1976. `BenchError` beyond that span.
    """
    meters = convert(_ALTITUDE.check(altitude_ft), "ft", "m")
    part = 1 - Decimal("2.25577e-5") * meters
    return SEA_LEVEL_KPA * part ** Decimal("5.2559")


def pressure_at(
    gauge: Figure,
    unit: str,
    *,
    measured_at: Figure,
    expected_at: Figure,
    degrees: str = "°F",
    altitude_ft: Figure = 0,
) -> Answer:
    """The gauge pressure that `gauge` becomes from one temperature to another.

    (P + Pa) · T2 / T1 - Pa with absolute temperatures and the air pressure Pa of the
    altitude. Pressure 1 to 200 psi, temperatures -60 to 200 °F (or in `degrees`).
    Below Pa · (T1 / T2 - 1) nothing is left over: 0. `BenchError` beyond the spans.
    """
    start = _gauge(gauge, unit)
    scale = "°R" if find_unit(degrees) == "°F" else "K"
    warm, other = (
        convert(_rankine(each, degrees), "°R", scale)
        for each in (measured_at, expected_at)
    )
    air = convert(atmosphere(altitude_ft), "kPa", unit)
    value = max(Decimal(0), (start + air) * other / warm - air)
    return Answer(
        value,
        unit,
        f"({num(start)} + {num(air)}) · {num(other)} {scale} ÷ {num(warm)} {scale}"
        f" - {num(air)} = {num(value)} {unit}",
        f"{GAS_LAW} {ATMOSPHERE}",
        "The air in a tire that neither leaks nor changes its volume; both "
        "temperatures are those of the air in the tire.",
        COLD,
    )


def change_per_ten_degrees(
    gauge: Figure, unit: str, *, at: Figure, altitude_ft: Figure = 0
) -> Answer:
    """How far the pressure moves for each 10 °F around `at` °F, in `unit`.

    (P + Pa) · 10 / T. The usual "1 psi per 10 °F" is right only near the figure of
    `where_the_rule_holds`: at 80 psi it is 1.79, at 110 psi 2.36.
    """
    start, absolute = _gauge(gauge, unit), _rankine(at, "°F")
    air = convert(atmosphere(altitude_ft), "kPa", unit)
    value = (start + air) * 10 / absolute
    return Answer(
        value,
        unit,
        f"({num(start)} + {num(air)}) · 10 ÷ {num(absolute)} = {num(value)} {unit}",
        GAS_LAW,
        "The rule of 1 psi per 10 °F fits the pressures of cars only: the change "
        "goes with the pressure, so a rig's tires move about twice as much.",
        COLD,
    )


def where_the_rule_holds(at: Figure = 68, altitude_ft: Figure = 0) -> Answer:
    """The gauge pressure in psi at which 10 °F make exactly 1 psi: T / 10 - Pa."""
    absolute = _rankine(at, "°F")
    air = convert(atmosphere(altitude_ft), "kPa", "psi")
    value = absolute / 10 - air
    told = f"{num(absolute)} ÷ 10 - {num(air)} = {num(value)} psi"
    return Answer(value, "psi", told, GAS_LAW)


def warning_level(cold: Figure, unit: str) -> Answer:
    """25 % under the cold pressure that the placard names, in `unit`."""
    start = _gauge(cold, unit)
    value = start * Decimal("0.75")
    return Answer(
        value,
        unit,
        f"0.75 · {num(start)} = {num(value)} {unit}",
        "FMVSS 138 S4.2(a): a warning at 75 % of the manufacturer's cold pressure.",
        "The standard holds for vehicles up to 10,000 lb GVWR without dual wheels; "
        "trailers are not covered. It also has lowest levels by kind of tire: go by "
        "the higher one.",
        (
            "A tire that ran this low can burst. At or under this level do not drive "
            "on: have a tire shop inspect it before it is filled.",
        ),
    )


def under_inflation(measured: Figure, cold: Figure, unit: str) -> Answer:
    """How far `measured` lies under the cold pressure, in percent (below 0: over)."""
    found = _MEASURED.check_as(measured, unit)
    wanted = _GAUGE.check_as(cold, unit)
    value = (1 - found / wanted) * 100
    told = f"(1 - {num(found)} ÷ {num(wanted)}) · 100 = {num(value, 1)} %"
    return Answer(value, "%", told, "Arithmetic.", cautions=COLD)


def load_at_pressure(
    cold: Figure, maker_table: Sequence[tuple[Figure, Figure]]
) -> Answer:
    """The load in lb one tire carries at `cold` psi, by its maker's table.

    `maker_table` holds (psi, lb) rows as printed. The row at or under the pressure
    counts: no value is made up between rows or beyond them. No general formula ties
    load to pressure (Tire and Rim Association yearbook 2010, as relayed), so without
    a table there is no answer. `BenchError`: a table that falls, a pressure below it.
    """
    pressure = _GAUGE.check(cold)
    rows = sorted((_GAUGE.check(psi), _LOAD.check(lb)) for psi, lb in maker_table)
    if not rows or any(a[1] > b[1] for a, b in pairwise(rows)):
        raise CalculatorError(
            "Enter the manufacturer's table: a load that grows with pressure."
        )
    if pressure < rows[0][0]:
        raise CalculatorError(
            "The pressure", f"{num(pressure)} psi", f"{num(rows[0][0])} psi and more"
        )
    psi, load = [row for row in rows if row[0] <= pressure][-1]
    return Answer(
        load,
        "lb",
        f"row for {num(psi)} psi: {num(load)} lb",
        "The tire manufacturer's table as you entered it.",
        "One tire in the place (single or dual) the table is for.",
        COLD,
    )


def _gauge(value: Figure, unit: str) -> Decimal:
    """`value` itself, after its size in psi was found plausible."""
    _GAUGE.check_as(value, unit)
    return Decimal(value)


def _rankine(value: Figure, degrees: str) -> Decimal:
    return convert(_TEMPERATURE.check_as(value, degrees), "°F", "°R")
