"""The figures of `torque` with formula, source and cautions beside them."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from maintenance.core.calculators.answers import Answer, Figure, limits, num
from maintenance.core.calculators.torque import (
    Wrench,
    adapter_setting,
    calibration,
    tolerance_band,
    wrench_fit,
)
from maintenance.core.units import convert

_TORQUE = limits("The torque", "0.01", "5000", "N·m")
_LENGTH = limits("The length", "0", "10000")
CAUTIONS = (
    "Wrong torque can lose a wheel or break a stud. The manufacturer's figure comes "
    "first, with threads dry or oiled as its manual says: oil can raise the clamp load "
    "by a quarter and more.",
    "Power tools and long bars overtighten. Use a calibrated wrench, and re-check "
    "wheel nuts 50 to 100 mi after a wheel was off.",
)


def refuse_implausible(torque: Figure, unit: str, what: str = "The torque") -> None:
    """`BenchError` beyond 0.01 to 5,000 N·m; `what` names it, such as a full scale."""
    replace(_TORQUE, what=what).check_as(torque, unit)


def in_unit(torque: Figure, unit: str, to: str) -> Answer:
    """`torque` (0.01 to 5,000 N·m) in another unit, exactly (NIST SP 811)."""
    _TORQUE.check_as(torque, unit)
    value = convert(Decimal(torque), unit, to)
    factor = convert(Decimal(1), unit, to)
    told = f"{num(torque)} {unit} · {num(factor, 6)} = {num(value)} {to}"
    return Answer(value, to, told, "NIST SP 811 (2008), appendix B.8.", "", CAUTIONS)


def adapter(
    torque: Figure,
    unit: str,
    *,
    length: Figure,
    extension: Figure,
    angle: Figure = 0,
) -> Answer:
    """What to set with a crow-foot or adapter: see `torque.adapter_setting`."""
    _TORQUE.check_as(torque, unit)
    arm, reach = _LENGTH.check(length), _LENGTH.check(extension)
    value = adapter_setting(
        Decimal(torque), length=arm, extension=reach, angle=Decimal(angle)
    )
    turned = f" · cos {num(angle)}°" if angle else ""
    return Answer(
        value,
        unit,
        f"{num(torque)} · {num(arm)} ÷ ({num(arm)} + {num(reach)}{turned})"
        f" = {num(value)} {unit}",
        "US Navy NAVEDTRA 14315, fig. 3-44; angle: US Army TM 9-254.",
        "Pull where the length was measured to. A straight extension under the drive "
        "changes nothing.",
        CAUTIONS,
    )


def tolerance(torque: Figure, unit: str, percent: Figure) -> tuple[Answer, Answer]:
    """The lowest and highest torque within ±`percent` (0 to below 100)."""
    _TORQUE.check_as(torque, unit)
    low, high = tolerance_band(Decimal(torque), Decimal(percent))
    source = "ISO 6789:2003: ±4 % above 10 N·m of full scale, else ±6 %."

    def answer(value: Decimal, sign: str) -> Answer:
        told = f"{num(torque)} {sign} {num(percent)} % = {num(value)} {unit}"
        return Answer(value, unit, told, source)

    return answer(low, "-"), answer(high, "+")


def lowest_usable(wrench: Wrench, target: Figure, unit: str) -> Answer:
    """From which figure on the wrench may be used, in its unit; `target` is judged.

    The lowest mark where it is known (ISO 6789-1:2017), else 20 % of full scale.
    """
    fit = wrench_fit(wrench, Decimal(target), unit)
    mark = wrench.lowest_mark
    value = fit.floor if mark is None else mark
    told = f"0.20 · {num(wrench.full_scale)} = {num(fit.floor)} {wrench.unit}"
    if mark is not None:
        told = f"lowest mark {num(mark)} {wrench.unit} (older rule: {told})"
    return Answer(
        value,
        wrench.unit,
        told,
        "US Army TM 1-1500-204-23-9, table 8-1 (20 to 100 %); ISO 6789-1:2017 (from "
        "the lowest mark on).",
        "Best from 30 to 80 % of full scale.",
        CAUTIONS,
    )


def cycles_left(
    calibrated_on: date, *, as_of: date, cycles: int = 0, mishap: bool = False
) -> Answer:
    """Cycles left until calibration, 0 where it is due: see `torque.calibration`."""
    state = calibration(calibrated_on, as_of=as_of, cycles=cycles, mishap=mishap)
    value = Decimal(0 if state.reasons else state.cycles_left)
    why = f"due by {', '.join(state.reasons)}" if state.reasons else "not due"
    return Answer(
        value,
        "cycles",
        f"{why}; {num(state.cycles_left)} cycles left, 12 months in all",
        "ISO 6789:2003: 12 months or 5,000 cycles; at once after a drop, a repair or "
        "an overload of more than 25 % (calibration practice).",
    )
