"""What every calculator of the bench gives back, and how it refuses.

Figures are `Decimal`, each in the one unit that its function names; pages convert at
their edge.
"""

from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from maintenance.core.units import UnitError, convert, show_number

Figure = Decimal | int


class CalculatorError(ValueError):
    """A figure that cannot be used; the text is fit for a user.

    `what` names the figure, `value` is what was given, `plausible` what would do;
    `limits`, where it has two ends in a unit, so that a page can tell it in another.
    """

    def __init__(
        self,
        what: str,
        value: str = "",
        plausible: str = "",
        limits: "Limits | None" = None,
    ) -> None:
        self.what = what
        self.limits = limits
        self.value = value
        self.plausible = plausible
        told = f"{what}: {value} can't be right. Enter {plausible}."
        super().__init__(told if plausible else what)


@dataclass(frozen=True, slots=True)
class Answer:
    """One figure with all that is to stand beside it.

    `formula` is the formula filled in, `source` where it comes from and how far it is
    known, `validity` where it holds, `cautions` what to heed before acting on it.
    """

    value: Decimal
    unit: str
    formula: str
    source: str
    validity: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """What a figure may be, both ends included, and how to name it in a refusal."""

    what: str
    low: Decimal
    high: Decimal
    unit: str = ""

    def check(self, value: Figure) -> Decimal:
        """`value`, or `BenchError` where it is no number or out of the limits."""
        given = Decimal(value)
        if given.is_finite() and self.low <= given <= self.high:
            return given
        low, high = (show_number(end, places=3) for end in (self.low, self.high))
        raise CalculatorError(
            self.what,
            f"{num(given, 4)} {self.unit}".strip(),
            f"{low} to {high} {self.unit}".strip(),
            self,
        )

    def check_as(self, value: Figure, unit: str) -> Decimal:
        """`value`, given in `unit`, in the unit of these limits."""
        given = Decimal(value)
        if not given.is_finite():
            return self.check(given)
        try:
            return self.check(convert(given, unit, self.unit))
        except UnitError as error:
            raise CalculatorError(f"{self.what}: {error}") from None


def limits(what: str, low: str, high: str, unit: str = "") -> Limits:
    return Limits(what, Decimal(low), Decimal(high), unit)


def num(value: Figure, places: int = 2) -> str:
    """A number as a formula shows it: grouped, rounded, without idle zeros."""
    given = Decimal(value)
    if not given.is_finite() or given.adjusted() > 17:
        return str(given)
    return show_number(given, places=places)


def between(points: tuple[tuple[Decimal, Decimal], ...], at: Decimal) -> Decimal:
    """The value at `at`, linear between `points` (rising), held at both ends."""
    if at <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return points[-1][1]


def table(text: str) -> tuple[tuple[Decimal, Decimal], ...]:
    """Points from `x y` pairs parted by commas, rising in x."""
    pairs = (pair.split() for pair in text.split(","))
    return tuple(sorted((Decimal(x), Decimal(y)) for x, y in pairs))
