"""Tread depth against each published limit, by the place of the tire."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from maintenance.core.calculators.answers import Figure, limits, num
from maintenance.core.units import convert

Position = Literal["steer", "drive", "trailer"]
ALL: tuple[Position, ...] = ("steer", "drive", "trailer")

HOW = (
    "Measure in a major groove, at the shallowest place, not on tie bars, humps or "
    "fillets (49 CFR 393.75). Have a tire shop replace a worn-out tire before the "
    "next trip."
)


@dataclass(frozen=True, slots=True)
class TreadRule:
    """A limit as published, in its own unit; `heavy` None: whatever the weight."""

    key: str
    limit: Decimal
    unit: str
    positions: tuple[Position, ...]
    source: str
    heavy: bool | None = None
    winter: bool = False

    @property
    def limit_mm(self) -> Decimal:
        return convert(self.limit, self.unit, "mm")


RULES = (
    TreadRule(
        "us_steer",
        Decimal(4),
        "1/32 in",
        ("steer",),
        "49 CFR 393.75(b): steer tires of a bus, truck or truck tractor",
        heavy=True,
    ),
    TreadRule(
        "us_other",
        Decimal(2),
        "1/32 in",
        ("drive", "trailer"),
        "49 CFR 393.75(c): all other positions",
        heavy=True,
    ),
    TreadRule(
        "us_states",
        Decimal(2),
        "1/32 in",
        ALL,
        "Law of most states for private vehicles (COMAR 11.14.05.05)",
    ),
    TreadRule("europe", Decimal("1.6"), "mm", ALL, "UNECE and EU law, Germany, the UK"),
    TreadRule(
        "bc_front",
        Decimal(3),
        "mm",
        ("steer",),
        "British Columbia, driving manual p. 72: over 5,500 kg, front",
        heavy=True,
    ),
    TreadRule(
        "bc_rear",
        Decimal("1.6"),
        "mm",
        ("drive", "trailer"),
        "British Columbia, driving manual p. 72: rear and trailer",
    ),
    TreadRule(
        "bc_winter",
        Decimal("3.5"),
        "mm",
        ALL,
        "British Columbia, driving manual p. 72: winter tire",
        winter=True,
    ),
)
_DEPTH = limits("The tread depth", "0", "30", "mm")


@dataclass(frozen=True, slots=True)
class TreadVerdict:
    """`left_mm`: what is left above the limit; below 0 it fails."""

    rule: TreadRule
    depth_mm: Decimal
    left_mm: Decimal
    formula: str

    @property
    def passes(self) -> bool:
        return self.left_mm >= 0


def tread_verdicts(
    depth: Figure,
    unit: str,
    *,
    position: Position,
    heavy: bool = False,
    winter: bool = False,
) -> tuple[TreadVerdict, ...]:
    """How `depth` (in `unit`: `1/32 in`, `mm`, 0 to 30 mm) stands by each rule.

    `heavy`: over 10,000 lb (British Columbia: 5,500 kg); the truck rules are then a
    motorhome's cross-check, though they bind carriers. `winter`: a winter tire. On
    the limit passes. `BenchError` beyond the span.
    """
    depth_mm = _DEPTH.check_as(depth, unit)
    return tuple(
        TreadVerdict(
            rule,
            depth_mm,
            depth_mm - rule.limit_mm,
            f"{num(depth_mm)} mm - {num(rule.limit_mm)} mm"
            f" = {num(depth_mm - rule.limit_mm)} mm",
        )
        for rule in RULES
        if position in rule.positions
        and (rule.heavy is None or heavy)
        and (winter or not rule.winter)
    )
