"""A value in another unit, exactly."""

from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction

from maintenance.core.units.names import find_unit, units_of
from maintenance.core.units.table import UNITS, Unit, UnitError

_EXACT = Context(prec=28, rounding=ROUND_HALF_EVEN)


def convert(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """`value` in another unit of the same quantity.

    Reckoned in fractions and rounded once, to 28 significant digits, so what is exact
    by definition comes out exact. Temperatures are points on a scale, not differences.
    `UnitError`: unknown unit, other quantity, not a number, below absolute zero, or
    0 mpg. Factors: NIST SP 811 (2008), appendix B.8, from the definitions.
    """
    source, target = UNITS[find_unit(from_unit)], UNITS[find_unit(to_unit)]
    refuse_other_quantity(source, target)
    if not value.is_finite():
        raise UnitError(f"“{value}” isn't a number that can be converted.")
    if source is target:
        return value
    base = _to_base(Fraction(value), source)
    if source.quantity == "temperature" and base < 0:
        raise UnitError(f"{value} {source.symbol} is below absolute zero.")
    return _decimal(_from_base(base, target))


def refuse_other_quantity(source: Unit, target: Unit) -> None:
    if source.quantity != target.quantity:
        raise UnitError(
            f"{source.symbol} is a unit of {source.quantity}, "
            f"{target.symbol} one of {target.quantity}: enter the "
            f"{target.quantity} in {', '.join(units_of(target.quantity))}."
        )


def _to_base(value: Fraction, unit: Unit) -> Fraction:
    if not unit.inverse:
        return (value + unit.offset) * unit.factor
    if value == 0:
        raise UnitError(f"0 {unit.symbol} can't be converted: enter more than zero.")
    return unit.factor / value


def _from_base(base: Fraction, unit: Unit) -> Fraction:
    if not unit.inverse:
        return base / unit.factor - unit.offset
    if base == 0:
        raise UnitError(f"Zero can't be converted to {unit.symbol}: enter more.")
    return unit.factor / base


def _decimal(value: Fraction) -> Decimal:
    return _EXACT.divide(Decimal(value.numerator), Decimal(value.denominator))
