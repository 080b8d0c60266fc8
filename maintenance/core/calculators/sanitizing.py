"""Sanitizing drinking-water tanks with bleach: dose, time, rinses.

Tanks in US gallons, bleach in US fl oz, its strength in percent by weight, chlorine in
ppm (mg/L).
"""

from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import Answer, Figure, limits, num

OUNCES = Decimal(128)  # fl oz in a gallon
CEILING = Decimal("4.0")  # mg/L, 40 CFR 141.65 (from memory)

_TANK = limits("The tank", "0.25", "500", "gal")
_STRENGTH = limits("The strength of the bleach", "1", "15", "%")
_TARGET = limits("The chlorine aimed at", "1", "400", "ppm")
_BLEACH = limits("The bleach", "0", "2000", "fl oz")
_START = limits("The chlorine at the start", "0.01", "1000", "ppm")
_LEFT = limits("The part of the water left at each drain", "0", "0.9")
_TIMES = limits("The number of rinses", "0", "100")
_BELOW = limits("The chlorine to come under", "0.1", "4", "ppm")

CAUTIONS = (
    "The gas of mixed cleaners can kill. Never mix bleach with ammonia, acid, vinegar "
    "or any other cleaner, and rinse between cleaners.",
    "Bleach burns eyes and skin. Wear gloves and goggles, and work in fresh air. "
    "Dilute it in a gallon of water before it goes in.",
    "Other kinds leave additives in your water. Use plain unscented bleach under a "
    "year old; no splash-less, gel or scented kind.",
    "An empty heater burns out. Turn the water heater off and let it cool first, and "
    "take out filter cartridges.",
    "Too much chlorine can make you sick. Rinse until it is under 4 mg/L before "
    "anybody drinks.",
)


@dataclass(frozen=True, slots=True)
class StandTime:
    """How long a strength has to stand, in hours; `most` None: no limit published."""

    ppm: Decimal
    least: Decimal
    most: Decimal | None
    source: str


STAND_TIMES = (
    StandTime(
        Decimal(50),
        Decimal(4),
        None,
        "RV owner instructions: 4 hours, overnight better",
    ),
    StandTime(Decimal(50), Decimal(24), None, "IPC 610 and state text"),
    StandTime(
        Decimal(200),
        Decimal(3),
        Decimal(6),
        "IPC 610 and state text: not over 6 hours; at least 5 ppm left at the end",
    ),
)


def bleach_dose(tank: Figure, *, strength: Figure, target: Figure) -> Answer:
    """Bleach in fl oz: tank · target / (strength · 10,000).

    Tank 0.25 to 500 gal (with the water heater, where it is not bypassed), strength 1
    to 15 %, target 1 to 400 ppm. `BenchError` beyond the spans.
    """
    volume, percent = _TANK.check(tank), _STRENGTH.check(strength)
    ppm = _TARGET.check(target)
    value = volume * OUNCES * ppm / (percent * 10_000)
    return Answer(
        value,
        "fl oz",
        f"{num(volume)} gal · 128 · {num(ppm)} ppm ÷ ({num(percent)} % · 10,000)"
        f" = {num(value)} fl oz",
        "Dilution (C1·V1 = C2·V2); RV owner instructions and IPC 610 for 50 ppm.",
        "The label's percent is by weight: the true chlorine is about 2 % higher.",
        CAUTIONS,
    )


def chlorine(bleach: Figure, *, strength: Figure, water: Figure) -> Answer:
    """ppm that `bleach` fl oz of this strength give in `water` gallons."""
    ounces, percent = _BLEACH.check(bleach), _STRENGTH.check(strength)
    volume = _TANK.check(water)
    value = ounces * percent * 10_000 / (volume * OUNCES)
    return Answer(
        value,
        "ppm",
        f"{num(ounces, 3)} fl oz · {num(percent)} % · 10,000"
        f" ÷ ({num(volume)} gal · 128) = {num(value, 1)} ppm",
        "Dilution (C1·V1 = C2·V2).",
        "",
        CAUTIONS,
    )


def chlorine_after(start: Figure, *, left: Figure, rinses: int) -> Answer:
    """ppm after `rinses` fills with fresh water, the part `left` staying each time.

    C0 · f^n; `left` 0 to 0.9.
    """
    first, part, times = _START.check(start), _LEFT.check(left), _TIMES.check(rinses)
    value = first * _power(part, int(times))
    told = f"{num(first, 1)} · {num(part, 3)}^{times} = {num(value)} ppm"
    return Answer(value, "ppm", told, "Dilution (C0 · f^n).", "", CAUTIONS)


def rinses_needed(start: Figure, *, left: Figure, below: Figure = CEILING) -> Answer:
    """How many rinses bring `start` ppm under `below` (default 4.0 mg/L)."""
    first, part, aim = _START.check(start), _LEFT.check(left), _BELOW.check(below)
    count = 0
    while first * _power(part, count) >= aim:
        count += 1
    after = first * _power(part, count)
    return Answer(
        Decimal(count),
        "rinses",
        f"{num(first, 1)} · {num(part, 3)}^{count} = {num(after)} ppm,"
        f" under {num(aim)} ppm",
        "EPA ceiling of 4.0 mg/L, 40 CFR 141.65 (from memory); dilution.",
        "Fill, run every faucet, hot too, and drain each time. A test strip decides.",
        CAUTIONS,
    )


def _power(part: Decimal, times: int) -> Decimal:
    return part**times if times else Decimal(1)  # Decimal leaves 0 ** 0 undefined
