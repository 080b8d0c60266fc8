"""Factors and conversions against published and independent figures."""

from decimal import Decimal

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from maintenance.core.units import UNITS, UnitError, convert, find_unit, units_of

SP811 = "NIST SP 811 (2008) App. B.8"
PINT = "Pint default_en.txt"
COMPUTED = "computed from the exact definitions"

# from, to, factor to all digits given, factor as SP 811 prints it, source
FACTORS = [
    ("lbf", "N", "4.4482216152605", "4.448222E+00", SP811),
    ("ft.lbf", "N.m", "1.3558179483314004", "1.355818E+00", SP811),
    ("in.lbf", "N.m", "0.1129848290276167", "1.129848E-01", SP811),
    ("kgf.m", "N.m", "9.80665", "9.80665E+00", SP811),
    ("kgf.cm", "N.m", "0.0980665", "9.80665E-02", SP811),
    ("ozf.in", "N.m", "0.00706155181422604375", "7.061552E-03", SP811),
    ("ft.lbf", "in.lbf", "12", "", COMPUTED),
    ("N.m", "ft.lbf", "0.737562149277265", "", COMPUTED),
    ("N.m", "in.lbf", "8.85074579132718", "", COMPUTED),
    ("in", "mm", "25.4", "", PINT),
    ("ft", "m", "0.3048", "3.048E-01", SP811),
    ("mi", "km", "1.609344", "1.609344E+00", SP811),
    ("1/32 in", "mm", "0.79375", "", COMPUTED),
    ("psi", "kPa", "6.894757293168361", "6.894757E+00", SP811),
    ("psi", "bar", "0.06894757293168361", "6.894757E-02", SP811),
    ("bar", "kPa", "100", "", PINT),
    ("kgf/cm2", "kPa", "98.0665", "9.80665E+01", SP811),
    ("atm", "kPa", "101.325", "1.01325E+02", SP811),
    ("US gal", "L", "3.785411784", "3.785412E+00", SP811),
    ("US qt", "L", "0.946352946", "9.463529E-01", SP811),
    ("US fl oz", "mL", "29.5735295625", "2.957353E+01", SP811),
    ("imperial gal", "L", "4.54609", "4.54609E+00", SP811),
    ("lb", "kg", "0.45359237", "4.535924E-01", SP811),
    ("short ton", "kg", "907.18474", "9.071847E+02", SP811),
    ("mph", "km/h", "1.609344", "", SP811),
    ("Btu (IT)", "J", "1055.05585262", "1.055056E+03", SP811),
    ("Btu (th)", "J", "1054.350264488889", "1.054350E+03", SP811),
    ("kWh", "J", "3600000", "3.6E+06", SP811),
    ("hp (550 ft.lbf/s)", "W", "745.69987158227022", "7.456999E+02", SP811),
    ("mpg (US)", "L/100 km", "235.2145833333333", "", COMPUTED),
]


@pytest.mark.parametrize(
    ("source", "target", "factor", "printed", "origin"),
    FACTORS,
    ids=[f"{f[0]} to {f[1]} - {f[4]}" for f in FACTORS],
)
def test_convert_one_unit_gives_the_published_factor(
    source: str, target: str, factor: str, printed: str, origin: str
) -> None:
    got = convert(Decimal(1), source, target)
    digits = Decimal(factor).as_tuple()
    step = Decimal(1).scaleb(int(digits.exponent))
    assert got.quantize(step) == Decimal(factor), origin
    if printed:
        as_printed = Decimal(printed)
        step = Decimal(1).scaleb(int(as_printed.as_tuple().exponent))
        assert got.quantize(step) == as_printed, SP811


# The formulas of SP 811 B.8 (from memory; the offsets read in Pint default_en.txt):
# (F - 32) / 1.8, C + 273.15, F + 459.67.
@pytest.mark.parametrize("degrees", ["-459.67", "-40", "0", "32", "98.6", "212"])
def test_convert_temperature_follows_the_published_formula(degrees: str) -> None:
    value = Decimal(degrees)
    celsius = convert(value, "degF", "degC")
    assert abs(celsius - (value - 32) / Decimal("1.8")) < Decimal("1e-20")
    assert convert(value, "degF", "degR") == value + Decimal("459.67")
    kelvin = convert(celsius, "degC", "K")
    assert abs(kelvin - celsius - Decimal("273.15")) < Decimal("1e-20")


# value, from, to, expected, tolerance; computed from the exact definitions, and exact
# where the tolerance is 0. What a publication prints otherwise stands above its row.
CHECKS = [
    ("20", "ft.lbf", "N.m", "27.1164", "0.0001"),
    ("90", "ft.lbf", "N.m", "122.0236", "0.0001"),
    ("100", "ft.lbf", "N.m", "135.5818", "0.0001"),
    ("120", "ft.lbf", "N.m", "162.6982", "0.0001"),
    ("150", "ft.lbf", "N.m", "203.3727", "0.0001"),
    ("280", "ft.lbf", "N.m", "379.6290", "0.0001"),
    ("310", "ft.lbf", "N.m", "420.3036", "0.0001"),
    ("450", "ft.lbf", "N.m", "610.1181", "0.0001"),
    ("500", "ft.lbf", "N.m", "677.9090", "0.0001"),
    # computed; the printed pair in a chassis manual is 450 ft.lbf = 610 N.m, so a
    # printed pair agrees only to +/-0.1 %
    ("610", "N.m", "ft.lbf", "449.9129", "0.0001"),
    # computed; printed pair 500 ft.lbf = 678 N.m
    ("678", "N.m", "ft.lbf", "500.0671", "0.0001"),
    # computed; printed pair 280 ft.lbf = 380 N.m
    ("380", "N.m", "ft.lbf", "280.2736", "0.0001"),
    # computed; printed pair 310 ft.lbf = 420 N.m
    ("420", "N.m", "ft.lbf", "309.7761", "0.0001"),
    ("100", "in.lbf", "N.m", "11.298483", "0.000001"),
    ("100", "N.m", "in.lbf", "885.0746", "0.0001"),
    ("120", "ft.lbf", "in.lbf", "1440", "0"),
    ("10", "kgf.m", "N.m", "98.0665", "0"),
    ("120", "ft.lbf", "kgf.m", "16.590595", "0.000001"),
    ("35", "psi", "kPa", "241.3165", "0.0001"),
    ("50", "psi", "kPa", "344.7379", "0.0001"),
    ("65", "psi", "kPa", "448.1592", "0.0001"),
    ("80", "psi", "kPa", "551.5806", "0.0001"),
    ("95", "psi", "kPa", "655.0019", "0.0001"),
    ("110", "psi", "kPa", "758.4233", "0.0001"),
    ("120", "psi", "kPa", "827.3709", "0.0001"),
    ("80", "psi", "bar", "5.51581", "0.00001"),
    ("5.5", "bar", "psi", "79.7708", "0.0001"),
    ("1", "US gal", "L", "3.785411784", "0"),
    ("15", "US qt", "L", "14.195294", "0.000001"),
    ("20", "L", "US gal", "5.283441", "0.000001"),
    # exact; FMVSS texts print 4,536 kg
    ("10000", "lb", "kg", "4535.9237", "0"),
    # given to four places; the exact product is 11,793.401 62
    ("26000", "lb", "kg", "11793.4016", "0.00005"),
    ("3500", "kg", "lb", "7716.1792", "0.0001"),
    # exact; one trailer manual prints 19,308 km, which is wrong by 4.128 km
    ("12000", "mi", "km", "19312.128", "0"),
    ("100", "mi", "km", "160.9344", "0"),
    ("50", "mi", "km", "80.4672", "0"),
    ("80", "km", "mi", "49.709695", "0.000001"),
    ("4", "1/32 in", "mm", "3.175", "0"),
    ("2", "1/32 in", "mm", "1.5875", "0"),
    ("1.6", "mm", "1/32 in", "2.015748", "0.000001"),
    ("30000", "Btu (IT)", "J", "31651675.5786", "0.01"),
    ("1", "Btu (IT)", "J", "1055.05585262", "0"),
    ("32", "degF", "degC", "0", "0"),
    ("212", "degF", "degC", "100", "0"),
    ("-40", "degF", "degC", "-40", "0"),
    ("68", "degF", "degC", "20", "0"),
    ("20", "degC", "K", "293.15", "0"),
    ("70", "degF", "degR", "529.67", "0"),
    ("10", "mpg (US)", "L/100 km", "23.521458", "0.000001"),
]


@pytest.mark.parametrize(("value", "source", "target", "expected", "within"), CHECKS)
def test_convert_gives_the_check_value(
    value: str, source: str, target: str, expected: str, within: str
) -> None:
    got = convert(Decimal(value), source, target)
    assert abs(got - Decimal(expected)) <= Decimal(within)


# --- pint as an independent reference ----------------------------------------------

PINT_NAMES = {
    "in": "inch",
    "1/32 in": "inch / 32",
    "ft·lbf": "foot * force_pound",
    "in·lbf": "inch * force_pound",
    "in·ozf": "inch * force_ounce",
    "N·m": "newton * meter",
    "kgf·m": "kilogram_force * meter",
    "kgf·cm": "kilogram_force * centimeter",
    "lbf": "force_pound",
    "N": "newton",
    "kN": "kilonewton",
    "kgf": "kilogram_force",
    "kgf/cm²": "kilogram_force / centimeter ** 2",
    "in w.c.": "inch_H2O",
    "gal": "US_liquid_gallon",
    "qt": "US_liquid_quart",
    "fl oz": "US_fluid_ounce",
    "imp gal": "imperial_gallon",
    "short ton": "short_ton",
    "t": "metric_ton",
    "km/h": "kilometer / hour",
    "mph": "mile / hour",
    "Btu": "international_british_thermal_unit",
    "Btu (th)": "thermochemical_british_thermal_unit",
    "Btu/h": "international_british_thermal_unit / hour",
    "hp": "horsepower",
    "Ω": "ohm",
    "kΩ": "kiloohm",
    "Ah": "ampere * hour",
    "mAh": "milliampere * hour",
    "Wh": "watt * hour",
    "kWh": "kilowatt * hour",
    "°F": "degree_Fahrenheit",
    "°C": "degree_Celsius",
    "K": "kelvin",
    "°R": "degree_Rankine",
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


OTHER_SCALES = {"temperature", "fuel use"}


@pytest.mark.parametrize(
    "symbol", [s for s, u in UNITS.items() if u.quantity not in OTHER_SCALES]
)
def test_convert_agrees_with_pint(symbol: str, registry: pint.UnitRegistry) -> None:
    base = units_of(UNITS[symbol].quantity)[0]
    theirs, their_base = (
        registry.parse_expression(PINT_NAMES.get(name, name)).to_base_units().magnitude
        for name in (symbol, base)
    )
    got = float(convert(Decimal(1), symbol, base))
    assert got == pytest.approx(theirs / their_base, rel=1e-12)


def test_convert_btu_agrees_with_the_rounded_btu_of_pint_to_six_digits(
    registry: pint.UnitRegistry,
) -> None:
    # Pint's plain british_thermal_unit is the rounded 1055.056 J.
    rounded = registry.Quantity(1, "british_thermal_unit").to("joule").magnitude
    got = float(convert(Decimal(1), "Btu", "J"))
    assert got == pytest.approx(rounded, rel=1e-6)
    assert got != rounded


@pytest.mark.parametrize("target", ["°C", "K", "°R"])
def test_convert_temperature_agrees_with_pint(
    target: str, registry: pint.UnitRegistry
) -> None:
    theirs = registry.Quantity(17.5, PINT_NAMES["°F"]).to(PINT_NAMES[target])
    got = float(convert(Decimal("17.5"), "°F", target))
    assert got == pytest.approx(theirs.magnitude, rel=1e-12)


def test_convert_fuel_use_agrees_with_pint(registry: pint.UnitRegistry) -> None:
    per_distance = 1 / registry.Quantity(17.5, "mile / US_liquid_gallon")
    theirs = per_distance.to("liter / kilometer").magnitude * 100
    got = float(convert(Decimal("17.5"), "mpg", "L/100 km"))
    assert got == pytest.approx(theirs, rel=1e-12)


# --- properties and refusals --------------------------------------------------------

VALUES = st.decimals("0.001", "1e9", places=3)
PAIRS = st.sampled_from(
    [(a, b) for a in UNITS for b in UNITS if UNITS[a].quantity == UNITS[b].quantity]
)


@given(value=VALUES, pair=PAIRS)
def test_convert_there_and_back_returns_the_value(
    value: Decimal, pair: tuple[str, str]
) -> None:
    there = convert(value, *pair)
    back = convert(there, *reversed(pair))
    # A temperature loses up to 12 places to its offset.
    assert abs(back - value) <= max(value, Decimal(1000)) * Decimal("1e-24")


@given(low=VALUES, high=VALUES, pair=PAIRS)
def test_convert_keeps_the_order_of_values(
    low: Decimal, high: Decimal, pair: tuple[str, str]
) -> None:
    assume(low < high)
    a, b = (convert(value, *pair) for value in (low, high))
    turned = UNITS[pair[0]].inverse != UNITS[pair[1]].inverse
    assert a > b if turned else a < b


def test_convert_unknown_unit_names_it_and_lists_the_known() -> None:
    with pytest.raises(UnitError, match="“furlong” isn't a known unit") as caught:
        convert(Decimal(1), "furlong", "mi")
    assert all(symbol in str(caught.value) for symbol in UNITS)


def test_convert_to_another_quantity_is_refused_with_what_to_give() -> None:
    with pytest.raises(UnitError, match=r"mi is a unit of length.*ft·lbf, in·lbf"):
        convert(Decimal(1), "mi", "N·m")


@pytest.mark.parametrize(
    ("value", "source", "target", "message"),
    [
        ("NaN", "mi", "km", "t a number"),
        ("Infinity", "mi", "km", "t a number"),
        ("-459.68", "°F", "°C", "below absolute zero"),
        ("0", "mpg", "L/100 km", "more than zero"),
        ("0", "L/100 km", "mpg", "can't be converted"),
    ],
)
def test_convert_without_an_answer_is_refused(
    value: str, source: str, target: str, message: str
) -> None:
    with pytest.raises(UnitError, match=message):
        convert(Decimal(value), source, target)


@pytest.mark.parametrize("symbol", UNITS)
def test_find_unit_takes_every_symbol_in_any_case(symbol: str) -> None:
    spellings = {symbol, symbol.upper(), symbol.lower(), f" {symbol} "}
    assert {find_unit(text) for text in spellings} == {symbol}
