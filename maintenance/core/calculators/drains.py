"""Drain traps: how fast the water that keeps sewer gas out dries up.

A real trap lies between two models. The upper one is an open, still water surface (the
pool formula with its factor for an unoccupied pool); the lower one is still air in a
pipe above the water, through which vapor only diffuses. Rates in mm a day, depths in
mm, temperatures in °C (0 to 50), humidity in percent (0 to 99).
"""

from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import Answer, Figure, limits, num

SEAL = Decimal(51)  # mm: 2 in., the least that IPC 1002.4 and UPC 1005.1 allow
DEEPEST_SEAL = Decimal(102)  # mm, the same codes
PIPE = Decimal(100)  # mm of pipe above the water, our choice between 50 and 200
QUIET = Decimal("0.74")  # measured on quiet water, ASHRAE Transactions 104
UNOCCUPIED = Decimal("0.5")  # ASHRAE activity factor, from memory
MONTHLY = 30  # days: university notice on refilling unused traps, 2019

_TEMPERATURE = limits("The temperature", "0", "50", "°C")
_HUMIDITY = limits("The relative humidity", "0", "99", "%")
_SEAL_DEPTH = limits("The depth of the seal", "5", "150", "mm")
_BORE = limits("The bore of the trap", "10", "200", "mm")
_PIPE = limits("The pipe above the water", "10", "2000", "mm")
_AIR = limits("The speed of the air", "0", "5", "m/s")
_RATE = limits("The rate", "0.000001", "1000", "mm a day")
_FACTOR = limits("The factor", "0.1", "1")

UPPER = (
    "Upper model: pool formula (95 + 0.425 v)(pw - pa) / Y, ASHRAE Transactions 104 "
    "(1998), times 0.5 for an unoccupied pool (factor from memory)."
)
LOWER = (
    "Lower model: diffusion through still air in 100 mm of pipe above the water "
    "(stagnant film; constants from memory)."
)
CAUTIONS = (
    "A dry trap lets sewer gas in, which is toxic and can burn. Air out the rig first.",
    "Sewer gas that cannot get out comes inside. Never cap or block a plumbing vent.",
    "Pour water, or antifreeze marked for drinking-water lines where it freezes.",
)


def vapor_pressure(temperature: Figure) -> Decimal:
    """Saturation pressure of water in hPa: 6.1094 · exp(17.625 T / (243.04 + T)).

    Alduchov and Eskridge, J. Appl. Meteorol. 35(4), 1996 (constants from memory,
    within 0.35 % of CoolProp, IAPWS-97 and psychrolib).
    """
    t = _TEMPERATURE.check(temperature)
    return Decimal("6.1094") * (Decimal("17.625") * t / (Decimal("243.04") + t)).exp()


def vapor_pressure_wmo(temperature: Figure) -> Decimal:
    """The same in the form of WMO Guide No. 8: 6.112 · exp(17.62 T / (243.12 + T))."""
    t = _TEMPERATURE.check(temperature)
    return Decimal("6.112") * (Decimal("17.62") * t / (Decimal("243.12") + t)).exp()


def dew_point(temperature: Figure, humidity: Figure) -> Answer:
    """The °C at which air of this temperature and humidity (1 to 100 %) gets wet."""
    part = limits("The relative humidity", "1", "100", "%").check(humidity) / 100
    log = (vapor_pressure(temperature) * part / Decimal("6.1094")).ln()
    value = Decimal("243.04") * log / (Decimal("17.625") - log)
    told = f"{num(temperature, 1)} °C at {num(part * 100, 0)} %: {num(value, 1)} °C"
    source = "Alduchov and Eskridge, J. Appl. Meteorol. 35(4), 1996, solved for T."
    return Answer(value, "°C", told, source)


def open_surface_rate(
    temperature: Figure,
    humidity: Figure,
    *,
    air_speed: Figure = 0,
    factor: Figure = UNOCCUPIED,
) -> Answer:
    """mm a day from an open surface: factor · (95 + 0.425 v)(pw - pa) / Y.

    lb/h·ft² with v in ft/min, pressures in in. Hg, Y in BTU/lb; `air_speed` in m/s (0
    to 5). `factor` 1 as published, 0.74 measured on quiet water, 0.5 unoccupied.
    """
    part, speed = _FACTOR.check(factor), _AIR.check(air_speed)
    t = _TEMPERATURE.check(temperature)
    deficit = _deficit(t, humidity) / Decimal("33.8639")  # in. Hg
    latent = (Decimal(2501) - Decimal("2.361") * t) / Decimal("2.326")  # BTU/lb
    still = 95 + Decimal("0.425") * speed * Decimal("196.8504")  # ft/min
    pounds = part * still * deficit / latent
    # lb/h·ft² -> kg a day and m², which is mm of water a day
    value = pounds * Decimal("4.88242764") * 24
    told = (
        f"{num(part)} · {num(still)} · {num(deficit, 3)} in. Hg"
        f" ÷ {num(latent, 1)} BTU/lb · 117.18"
    )
    return Answer(
        value, "mm a day", f"{told} = {num(value)} mm a day", UPPER, "", CAUTIONS
    )


def still_pipe_rate(
    temperature: Figure, humidity: Figure, *, pipe: Figure = PIPE
) -> Answer:
    """mm a day by diffusion up `pipe` mm: D·P·M / (R·T·L) · ln((P - e) / (P - es)).

    D = 0.2178 cm²/s · (T / 273.15)^1.81, P one atmosphere.
    """
    length = _PIPE.check(pipe) / 1000
    t = _TEMPERATURE.check(temperature)
    kelvin = t + Decimal("273.15")
    spread = Decimal("0.2178e-4") * (kelvin / Decimal("273.15")) ** Decimal("1.81")
    full = vapor_pressure(t) * 100
    there = full - _deficit(t, humidity) * 100
    air = Decimal(101_325)
    drive = ((air - there) / (air - full)).ln()
    flux = spread * air * Decimal("0.01801528") / (Decimal("8.314462618") * kelvin)
    value = flux / length * drive * 86_400
    told = (
        f"D·P·M ÷ (R·T) = {num(flux * 1_000_000, 3)} mg/(m·s);"
        f" ÷ {num(length * 1000, 0)} mm · ln((1,013.25 - {num(there / 100)})"
        f" ÷ (1,013.25 - {num(full / 100)})) · 86.4 = {num(value, 3)} mm a day"
    )
    return Answer(value, "mm a day", told, LOWER, "", CAUTIONS)


def humidity_ratio_rate(
    temperature: Figure, humidity: Figure, *, air_speed: Figure = 0
) -> Answer:
    """mm a day by (25 + 19 v)(xs - x) kg/h·m², v in m/s; to compare with.

    Source: an engineering page, which runs above the pool formula.
    """
    speed, t = _AIR.check(air_speed), _TEMPERATURE.check(temperature)
    full = vapor_pressure(t)
    there = full - _deficit(t, humidity)
    gap = _ratio(full) - _ratio(there)
    value = (25 + 19 * speed) * gap * 24
    told = f"(25 + 19 · {num(speed)}) · {num(gap, 5)} · 24 = {num(value)} mm a day"
    return Answer(value, "mm a day", told, "Humidity-ratio form, an engineering page.")


def open_water_rate(
    temperature: Figure, humidity: Figure, *, air_speed: Figure = 0
) -> Answer:
    """mm a day by 0.26 (1 + 0.54 u)(es - ea), hPa, u in m/s; to compare with.

    Source: the Dalton form of hydrology texts, from memory.
    """
    speed, t = _AIR.check(air_speed), _TEMPERATURE.check(temperature)
    value = Decimal("0.26") * (1 + Decimal("0.54") * speed) * _deficit(t, humidity)
    told = f"0.26 · (1 + 0.54 · {num(speed)}) · {num(_deficit(t, humidity))} hPa"
    source = "Dalton form for open water, hydrology texts (from memory)."
    return Answer(value, "mm a day", f"{told} = {num(value)} mm a day", source)


def days_for(seal: Figure, rate: Figure, *, both_legs: bool = False) -> Answer:
    """Days for a seal of 5 to 150 mm to dry up at a rate in mm a day.

    `both_legs`: only the inlet side dries while the vent side stays humid; both legs
    sink together and the time doubles.
    """
    depth, pace = _SEAL_DEPTH.check(seal), _RATE.check(rate)
    legs = 2 if both_legs else 1
    value = legs * depth / pace
    twice = "2 · " if both_legs else ""
    told = f"{twice}{num(depth)} mm ÷ {num(pace, 3)} mm a day = {num(value, 1)} d"
    return Answer(value, "d", told, "Depth of the seal by rate.", "", CAUTIONS)


@dataclass(frozen=True, slots=True)
class DryOut:
    """When a trap dries up: `earliest` by the upper model, `latest` by the lower."""

    earliest: Answer
    latest: Answer
    upper: Answer
    lower: Answer

    @property
    def flush_every(self) -> int:
        """Days between flushes: monthly, sooner where the earliest day comes first."""
        return max(1, min(MONTHLY, int(self.earliest.value)))


def dry_out(
    temperature: Figure,
    humidity: Figure,
    *,
    seal: Figure = SEAL,
    pipe: Figure = PIPE,
) -> DryOut:
    """The span in which a trap dries up at this °C and humidity, one leg drying.

    That both legs may sink together, which doubles the time, is not counted on.
    `BenchError` beyond the spans of the module.
    """
    upper = open_surface_rate(temperature, humidity)
    lower = still_pipe_rate(temperature, humidity, pipe=pipe)
    # with a pipe of a few mm above the water the models change places
    fast, slow = max(upper, lower, key=_pace), min(upper, lower, key=_pace)
    return DryOut(days_for(seal, fast.value), days_for(seal, slow.value), upper, lower)


def _pace(rate: Answer) -> Decimal:
    return rate.value


def trap_volume(bore: Figure, seal: Figure = SEAL) -> Answer:
    """The water in mL that one leg of a trap of `bore` mm holds over its seal."""
    wide, depth = _BORE.check(bore), _SEAL_DEPTH.check(seal)
    value = Decimal("3.14159265358979") * wide**2 / 4 * depth / 1000
    told = f"π · {num(wide)}² ÷ 4 · {num(depth)} ÷ 1000 = {num(value, 1)} mL"
    return Answer(value, "mL", told, "Geometry; two legs hold twice as much.")


def _deficit(t: Decimal, humidity: Figure) -> Decimal:
    """What the air lacks to saturation, in hPa."""
    return vapor_pressure(t) * (1 - _HUMIDITY.check(humidity) / 100)


def _ratio(pressure: Decimal) -> Decimal:
    """kg of vapor to a kg of dry air at one atmosphere, from hPa."""
    return Decimal("0.621945") * pressure / (Decimal("1013.25") - pressure)
