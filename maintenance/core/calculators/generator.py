"""Generators: what is left of the rating with altitude and heat, by each rule.

Power in W, altitude in ft, temperature in °F. Published rules disagree, so each has a
name; the maker's manual of the set comes first.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    Figure,
    limits,
    num,
)
from maintenance.core.units import convert

_POWER = limits("The rated power", "100", "50000", "W")
_RUNNING = limits("The running power", "0", "50000", "W")
_ALTITUDE = limits("The altitude", "-1500", "15000", "ft")
_TEMPERATURE = limits("The temperature", "-60", "130", "°F")

CAUTIONS = (
    "Carbon monoxide kills. Run it outside, 20 ft or more away, with the exhaust "
    "pointed away from people and openings. With a built-in one, keep everybody away "
    "from its exhaust and the windows shut.",
    "Headache, dizziness or nausea can mean carbon monoxide. Go out at once.",
    "A blocked exhaust sends fumes inside. Keep its air intake and exhaust clear. "
    "Leave repairs of fuel, exhaust and wiring to a licensed shop.",
)


@dataclass(frozen=True, slots=True)
class Derating:
    """`percent` lost for each `step` ft above `above` ft; likewise with heat in °F."""

    key: str
    source: str
    percent: Decimal
    step: Decimal
    above: Decimal = Decimal(0)
    compounded: bool = False
    heat_percent: Decimal = Decimal(0)
    heat_step: Decimal = Decimal(10)
    heat_above: Decimal = Decimal(85)


def _feet(meters: int) -> Decimal:
    return convert(Decimal(meters), "m", "ft")


_THREE_AND_HALF = Decimal("3.5")
_THOUSAND = Decimal(1000)
RULES: Mapping[str, Derating] = {
    rule.key: rule
    for rule in (
        Derating(
            "set_manual",
            "Generator set manual, 2008: 3.5 % per 1,000 ft above 1,000 ft; heat 2 % "
            "per 10 °F above 85 °F",
            _THREE_AND_HALF,
            _THOUSAND,
            above=_THOUSAND,
            heat_percent=Decimal(2),
        ),
        Derating(
            "sea_level",
            "3.5 % per 1,000 ft counted from sea level, straight line (computed)",
            _THREE_AND_HALF,
            _THOUSAND,
        ),
        Derating(
            "sea_level_compounded",
            "3.5 % per 1,000 ft counted from sea level, compounded (computed)",
            _THREE_AND_HALF,
            _THOUSAND,
            compounded=True,
        ),
        Derating(
            "motorhome_manual",
            "Motorhome owner manual: 3 % per 1,000 ft from sea level",
            Decimal(3),
            _THOUSAND,
        ),
        Derating(
            "portable_300_m",
            "Portable generator manual: 3.5 % per 300 m above 1,500 m",
            _THREE_AND_HALF,
            _feet(300),
            above=_feet(1500),
        ),
        Derating(
            "portable_500_m",
            "Portable generator manuals: 3 % per 500 m above 1,000 m; heat 3 % per "
            "5 °C above 40 °C",
            Decimal(3),
            _feet(500),
            above=_feet(1000),
            heat_percent=Decimal(3),
            heat_step=Decimal(9),
            heat_above=Decimal(104),
        ),
    )
}


def output(
    rated: Figure, *, altitude: Figure, temperature: Figure = 59, rule: Derating
) -> Answer:
    """The W left of `rated` (100 to 50,000 W) at altitude and temperature by `rule`.

    Losses by altitude and by heat are added, the careful way; never above the rating,
    never below 0. `BenchError` beyond -1,500 to 15,000 ft or -60 to 130 °F.
    """
    power = _POWER.check(rated)
    high = max(Decimal(0), _ALTITUDE.check(altitude) - rule.above) / rule.step
    hot = max(Decimal(0), _TEMPERATURE.check(temperature) - rule.heat_above)
    heat = rule.heat_percent * hot / rule.heat_step
    thin = rule.percent * high
    if rule.compounded:
        thin = 100 - 100 * (1 - rule.percent / 100) ** high
    lost = min(Decimal(100), thin + heat)
    value = power * (100 - lost) / 100
    told = (
        f"{num(power, 0)} W · (100 - {num(thin)} - {num(heat)}) % = {num(value, 0)} W"
    )
    no_heat = "" if rule.heat_percent else " This rule has no figure for heat."
    return Answer(
        value,
        "W",
        told,
        f"{rule.source}.",
        f"An estimate; the generator's own manual comes first.{no_heat}",
        CAUTIONS,
    )


def outputs(
    rated: Figure, *, altitude: Figure, temperature: Figure = 59
) -> tuple[tuple[Derating, Answer], ...]:
    """What is left by every published rule."""
    return tuple(
        (rule, output(rated, altitude=altitude, temperature=temperature, rule=rule))
        for rule in RULES.values()
    )


def load_share(running: Figure, available: Answer) -> Answer:
    """Percent of what the set can give that `running` W take.

    Exercise it 2 h a month at half load or more (RV newsletter, owner article). At 0 W
    available, as high up as a rule leaves nothing, `BenchError`.
    """
    load = _RUNNING.check(running)
    if available.value <= 0:
        raise CalculatorError(
            "By this rule the generator gives nothing at this altitude."
        )
    value = load / available.value * 100
    told = f"{num(load, 0)} W ÷ {num(available.value, 0)} W · 100 = {num(value, 0)} %"
    return Answer(
        value,
        "%",
        told,
        "Exercise 2 h a month at half load or more: RV newsletter and owner article.",
        "A motor draws about three times its running power for a moment at its start.",
        CAUTIONS,
    )
