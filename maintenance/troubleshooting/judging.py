"""What a measured value means, by the calculations of the core."""

from collections.abc import Callable
from decimal import Decimal

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.batteries import charge_from_volts
from maintenance.core.trouble import Measure


def judged(measure: Measure, value: Decimal) -> str:
    """A sentence on the value, with its source; nothing where none is reckoned."""
    judge = JUDGES.get(measure.judged_by)
    try:
        return judge(value) if judge else ""
    except CalculatorError as error:
        return str(error)


def _charge(volts: Decimal) -> str:
    found = charge_from_volts(volts, "flooded")
    return f"{found.formula} charged, for a flooded 12 V battery. {found.source}"


JUDGES: dict[str, Callable[[Decimal], str]] = {"charge_from_volts": _charge}
