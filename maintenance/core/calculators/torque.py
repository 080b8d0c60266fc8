"""Torque: does the wrench fit the figure, what to set, how far to trust it.

Torques carry their unit; angles are degrees, bolt diameters mm, clamp loads kN.
Where a maker's book gives a figure or a range, that one wins over these rules.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from maintenance.core.calculators.answers import CalculatorError, limits
from maintenance.core.dates import add_months
from maintenance.core.units import convert

Drive = Literal["1/4", "3/8", "1/2", "3/4", "1"]  # inches
Verdict = Literal["fits", "low_end", "below_scale", "above_scale"]
Threads = Literal["dry", "oiled", "anti_seize", "rusty"]
CalibrationReason = Literal["time", "cycles", "mishap"]

LUG_FLOOR = Decimal(125)  # ft·lbf, common practice
DRIVES_FOR_LUGS = ("1/2", "3/4", "1")
CALIBRATION_MONTHS = 12
CALIBRATION_CYCLES = 5000


class TorqueError(CalculatorError):
    """A figure that cannot be; the text is fit for a user."""


@dataclass(frozen=True, slots=True)
class Wrench:
    """A torque wrench; `full_scale` and `lowest_mark` in `unit`."""

    full_scale: Decimal
    unit: str
    lowest_mark: Decimal | None = None  # None: not known
    drive: Drive | None = None


@dataclass(frozen=True, slots=True)
class WrenchFit:
    """How a wrench fits a figure; all values in the wrench's unit.

    `from_lowest_mark` is None where the lowest mark is not known. `covers`: the figure
    lies on the scale, or from 20 % on where the lowest mark is not known.
    """

    target: Decimal
    floor: Decimal  # 20 % of full scale
    from_floor: bool
    from_lowest_mark: bool | None
    covers: bool
    in_best_part: bool  # 30 to 80 % of full scale
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class LugFit:
    fit: WrenchFit
    drive_is_enough: bool
    reaches_floor: bool

    @property
    def fits(self) -> bool:
        return self.drive_is_enough and self.reaches_floor and self.fit.covers


def wrench_fit(wrench: Wrench, target: Decimal, unit: str) -> WrenchFit:
    """Whether `wrench` may be used for `target` (in `unit`), by two rules.

    Older rule: accuracy is claimed from 20 to 100 % of full scale, best from 30 to 80 %
    (US Army TM 1-1500-204-23-9, table 8-1 and para 8-3; ISO 6789:2003 tests 20, 60 and
    100 %). Newer rule: from the lowest mark on (ISO 6789-1:2017, as a maker of wrenches
    tells it: common practice), never below it. A figure on a limit
    is inside. Verdict `low_end`: on the scale, but below 20 % of it.
    `TorqueError`: a figure or scale that is not above zero.
    """
    _refuse_bad_scale(wrench)
    asked = convert(_positive(target, "The torque"), unit, wrench.unit)
    full = wrench.full_scale
    floor = full / 5
    reached = asked <= full
    from_floor = reached and asked >= floor
    marked = None if (low := wrench.lowest_mark) is None else low <= asked and reached
    return WrenchFit(
        target=asked,
        floor=floor,
        from_floor=from_floor,
        from_lowest_mark=marked,
        covers=from_floor if marked is None else marked,
        in_best_part=full * 3 / 10 <= asked <= full * 8 / 10,
        verdict=_verdict(reached, from_floor, marked),
    )


def _verdict(reached: bool, from_floor: bool, marked: bool | None) -> Verdict:
    if not reached:
        return "above_scale"
    if marked is False:
        return "below_scale"
    return "fits" if from_floor else "low_end"


def wrench_fits_lug_work(wrench: Wrench, target: Decimal, unit: str) -> LugFit:
    """Whether `wrench` is one for wheel nuts with the specified figure `target`.

    It has a half-inch drive or a larger one, reaches at least 125 ft·lbf, and covers
    the specified figure: 125 ft·lbf is only the floor (common practice).
    """
    reach = convert(wrench.full_scale, wrench.unit, "ft·lbf")
    return LugFit(
        fit=wrench_fit(wrench, target, unit),
        drive_is_enough=wrench.drive in DRIVES_FOR_LUGS,
        reaches_floor=reach >= LUG_FLOOR,
    )


def adapter_setting(
    target: Decimal,
    *,
    length: Decimal,
    extension: Decimal,
    angle: Decimal = Decimal(0),
) -> Decimal:
    """What to set so that `target` reaches the fastener through a crow-foot or adapter.

    T_set = T · L / (L + E · cos(angle)), in the unit of `target`. `length` L: from the
    pull point on the handle to the center of the drive; `extension` E: from there to
    the center of the fastener, in the same unit; `angle` in degrees between them, 0 in
    line, 90 no correction, 180 pointing back. A straight extension under the drive
    changes nothing. Sources: US Navy NAVEDTRA 14315, fig. 3-44; angle: US Army
    TM 9-254. `TorqueError`: arms that leave nothing to pull on.
    """
    _positive(target, "The torque")
    _positive(length, "The length of the wrench")
    if not (extension.is_finite() and extension >= 0):
        raise TorqueError("The length of the adapter cannot be below zero.")
    if not (angle.is_finite() and -180 <= angle <= 180):
        raise TorqueError(
            "Enter the angle of the adapter between -180 and 180 degrees."
        )
    # twelve places: exact at 60, 90 and 180 degrees, far finer than any wrench
    cosine = Decimal(str(round(math.cos(math.radians(angle)), 12)))
    arm = length + extension * cosine
    if arm <= 0:
        raise TorqueError(
            "An adapter that points back must be shorter than the wrench."
        )
    return target * length / arm


def tolerance_band(value: Decimal, percent: Decimal) -> tuple[Decimal, Decimal]:
    """Lowest and highest value within ±`percent` of `value`, in its unit."""
    if not (percent.is_finite() and 0 <= percent < 100):
        raise TorqueError("Enter the tolerance in percent, from 0 to below 100.")
    part = abs(value) * percent / 100
    return value - part, value + part


def permitted_deviation(full_scale: Decimal, unit: str) -> Decimal:
    """Percent that an adjustable wrench with a scale may be off, by its full scale.

    4 above 10 N·m, else 6 (ISO 6789:2003, type II class A).
    """
    reach = convert(_positive(full_scale, "The full scale"), unit, "N·m")
    return Decimal(4) if reach > 10 else Decimal(6)


def deviation(set_value: Decimal, shown: Decimal) -> Decimal:
    """Percent by which a wrench is off that clicks at `shown` on the tester.

    (set - shown) / shown · 100 (ISO 6789 clause 7, from memory); both in one unit. It
    passes while its size is not above the permitted deviation.
    """
    _positive(set_value, "The set value")
    return (set_value - shown) / _positive(shown, "What the tester shows") * 100


@dataclass(frozen=True, slots=True)
class Calibration:
    """`reasons` is empty while calibration is not due."""

    due_on: date
    cycles_left: int
    reasons: tuple[CalibrationReason, ...]


def calibration(
    calibrated_on: date, *, as_of: date, cycles: int = 0, mishap: bool = False
) -> Calibration:
    """Whether a wrench is due for calibration on `as_of`, and why.

    After 12 months or 5,000 cycles since `calibrated_on`, whichever comes first
    (ISO 6789:2003; the default of the 2017 parts too); at once after a `mishap`: a
    drop, a repair, an overload of more than 25 % (calibration practice).
    """
    if cycles < 0:
        raise TorqueError("The number of cycles cannot be below zero.")
    due_on = add_months(calibrated_on, CALIBRATION_MONTHS)
    checks: tuple[tuple[CalibrationReason, bool], ...] = (
        ("time", as_of >= due_on),
        ("cycles", cycles >= CALIBRATION_CYCLES),
        ("mishap", mishap),
    )
    return Calibration(
        due_on=due_on,
        cycles_left=max(0, CALIBRATION_CYCLES - cycles),
        reasons=tuple(reason for reason, reached in checks if reached),
    )


# --- torque and clamp load ----------------------------------------------------------

# K of T = K · D · F: plain steel as received 0.20 (0.20-0.25), oiled 0.15 (0.15-0.20),
# rusty 0.30: engineering pages citing handbooks; anti-seize 0.12-0.16: its middle.
NUT_FACTORS: Mapping[Threads, Decimal] = {
    "dry": Decimal("0.20"),
    "oiled": Decimal("0.15"),
    "anti_seize": Decimal("0.14"),
    "rusty": Decimal("0.30"),
}
# Percent by which a torque wrench scatters the clamp load: NASA NSTS 08307, as cited
# in doi 10.1007/s11668-019-00693-z (unlubricated, lubricated).
SCATTER: Mapping[Threads, Decimal] = {
    "dry": Decimal(35),
    "oiled": Decimal(25),
    "anti_seize": Decimal(25),
    "rusty": Decimal(35),
}


_DIAMETER = limits("The diameter", "2", "60", "mm")


@dataclass(frozen=True, slots=True)
class ClampLoad:
    """kN: nominal, and the span that a torque wrench really gives."""

    nominal: Decimal
    low: Decimal
    high: Decimal


def clamp_load(
    torque: Decimal, unit: str, *, diameter: Decimal, threads: Threads
) -> ClampLoad:
    """The clamp load in kN that `torque` gives a bolt of `diameter` mm.

    F = T / (K · D) with T in N·m; K and scatter by the state of the threads (doi
    10.1007/s11668-019-00693-z). To compare, not to choose a torque: the maker's figure
    goes with the threads its book asks for.
    """
    newton_meters = convert(_positive(torque, "The torque"), unit, "N·m")
    arm = NUT_FACTORS[threads] * _DIAMETER.check(diameter)
    nominal = newton_meters / arm
    return ClampLoad(nominal, *tolerance_band(nominal, SCATTER[threads]))


def clamp_torque(load: Decimal, *, diameter: Decimal, threads: Threads) -> Decimal:
    """The torque in N·m behind a clamp load of `load` kN: T = K · D · F."""
    _positive(load, "The clamp load")
    return NUT_FACTORS[threads] * _positive(diameter, "The diameter") * load


def _positive(value: Decimal, name: str) -> Decimal:
    if not (value.is_finite() and value > 0):
        raise TorqueError(f"{name} must be above zero.")
    return value


def _refuse_bad_scale(wrench: Wrench) -> None:
    _positive(wrench.full_scale, "The full scale of the wrench")
    low = wrench.lowest_mark
    if low is not None and not (low.is_finite() and 0 <= low < wrench.full_scale):
        raise TorqueError("The lowest mark must lie below the full scale.")
