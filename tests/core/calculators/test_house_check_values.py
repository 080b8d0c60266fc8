"""Every check value of the house systems that the bench reckons.

Rows D and E (dates of cylinders, alarms, extinguishers) are tested elsewhere.
"""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.calculators import (
    antifreeze,
    batteries,
    drains,
    generator,
    mains,
    propane,
    runway,
    sanitizing,
    wastetank,
)
from maintenance.core.calculators.answers import Answer
from maintenance.core.calculators.hardness import from_grains, hardness
from maintenance.core.facts import (
    Baseline,
    Calendar,
    Item,
    Meter,
    MeterPoint,
    Reading,
    Rig,
)
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.units import convert
from tests.core.calculators.reference import allowed, numbers, rows

D = Decimal
Got = Answer | Decimal | int | str


def mixed(volume: str, strength: str, water: str) -> Answer:
    return antifreeze.diluted(D(volume), strength=D(strength), water=D(water))


def bleach(tank: str, strength: str, target: str) -> list[Got]:
    dose = sanitizing.bleach_dose(D(tank), strength=D(strength), target=D(target))
    return [dose, convert(dose.value, "fl oz", "mL")]


def ppm(ounces: str, strength: str, water: str) -> Answer:
    return sanitizing.chlorine(D(ounces), strength=D(strength), water=D(water))


def drop(milliliters: str) -> Answer:
    """Eight drops of so many mL together, in a gallon."""
    ounces = convert(D(milliliters), "mL", "fl oz")
    return sanitizing.chlorine(ounces, strength=D(6), water=D(1))


def burn(pounds: str, demand: str, duty: str = "1") -> list[Got]:
    heat = propane.heat_of_pounds(D(pounds))
    hours = propane.hours_left(heat, [propane.Appliance("furnace", D(demand), D(duty))])
    return [hours, hours.value / 24]


def volts(shown: str) -> list[Got]:
    return [batteries.charge_from_volts(D(shown), "flooded")]


def to_recharge(drain: str, monthly: str) -> list[Got]:
    end = runway.recharge_charge("flooded")
    return lasting("100", "100", str(end), drain, monthly)


def lasting(capacity: str, start: str, end: str, drain: str, monthly: str) -> list[Got]:
    found = runway.days_to(
        D(capacity),
        start=D(start),
        end=D(end),
        drain=D(drain),
        self_discharge=D(monthly),
    )
    assert found is not None
    return [found]


def peukert(capacity: str, exponent: str, load: str) -> list[Got]:
    hours = batteries.hours_at_load(D(capacity), D(load), exponent=D(exponent))
    return [hours, hours.value * D(load)]


def both_forms(celsius: int) -> list[Got]:
    return [drains.vapor_pressure_wmo(celsius), drains.vapor_pressure(celsius)]


def derated(rule: str, rated: int, altitude: int, temperature: int = 59) -> Answer:
    return generator.output(
        rated, altitude=altitude, temperature=temperature, rule=generator.RULES[rule]
    )


def oil_due() -> list[Got]:
    """N4 by the reckoning itself: the hours are a meter like any other."""
    day = date(2026, 5, 1)
    item = Item(
        "generator_oil",
        (EveryMeter("generator", "h", D(150)),),
        baseline=Baseline(date(2026, 1, 1), {"generator": D(270)}),
    )
    rig = Rig({"generator": Meter("h", (Reading(day, D(412)),))}, (item,))
    window = reckon(rig, calendar=Calendar(), as_of=day).items[0].window
    assert window is not None
    assert isinstance(window.closes, MeterPoint)
    return [window.closes.value, window.closes.value - 412]


def lock_up(pressure: str) -> str:
    return "pass" if propane.lock_up(D(pressure)).passes else "fail"


WORKED: Mapping[str, Callable[[], list[Got]]] = {
    "P1": lambda: [propane.vapor_pressure(0)],
    "P2": lambda: [propane.vapor_pressure(30)],
    "P3": lambda: [propane.vapor_pressure(60)],
    "P4": lambda: [propane.vapor_pressure(80)],
    "P5": lambda: [propane.vapor_pressure(100)],
    "P6": lambda: [propane.vapor_pressure(130)],
    "P7": lambda: [propane.BOILING_POINT],
    "P8": lambda: [propane.liquid_density(60)],
    "P9": lambda: [propane.BTU_PER_POUND],
    "P10": lambda: [propane.fill_by_weight(D("47.6"))],
    "P11": lambda: [propane.fill_by_weight(D("71.4"))],
    "P12": lambda: [
        propane.fill_by_volume(10),
        propane.heat_of_gallons(propane.fill_by_volume(10).value),
    ],
    "P13": lambda: burn("20", "30000"),
    "P14": lambda: burn("20", "30000", "0.3"),
    "P15": lambda: burn("30", "30000"),
    "P16": lambda: burn("20", "1500"),
    "P17": lambda: [
        convert(propane.SET_POINT, "in w.c.", "psi"),
        convert(propane.SET_POINT, "in w.c.", "kPa"),
    ],
    "P18": lambda: [lock_up("13.8"), lock_up("14.3")],
    "B1": lambda: volts("12.65"),
    "B2": lambda: volts("12.50"),
    "B3": lambda: volts("12.45"),
    "B4": lambda: volts("12.40"),
    "B5": lambda: volts("12.24"),
    "B6": lambda: volts("12.20"),
    "B7": lambda: volts("12.06"),
    "B8": lambda: volts("11.95"),
    "B9": lambda: volts("11.80"),
    "B10": lambda: volts("12.90"),
    "B11": lambda: to_recharge("0.05", "0"),
    "B12": lambda: to_recharge("0.05", "5"),
    "B13": lambda: to_recharge("0.1", "5"),
    "B14": lambda: to_recharge("0.5", "5"),
    "B15": lambda: to_recharge("0", "5"),
    "B16": lambda: lasting("200", "100", "50", "0.25", "5"),
    "B17": lambda: lasting("100", "60", "20", "0.02", "3"),
    "B18": lambda: peukert("100", "1.2", "5"),
    "B19": lambda: peukert("100", "1.2", "10"),
    "B20": lambda: peukert("100", "1.2", "20"),
    "B21": lambda: peukert("100", "1.1", "10"),
    "B22": lambda: peukert("100", "1.25", "20"),
    "B23": lambda: peukert("105", "1.2", "7.5"),
    "B24": lambda: [runway.self_discharge_at(5, 59)],  # 15 °C
    "B25": lambda: [runway.self_discharge_at(5, 95)],  # 35 °C
    "B26": lambda: [batteries.corrected_gravity(D("1.250"), 40)],
    "B27": lambda: [batteries.freezing_from_gravity(D("1.190"))],
    "B28": lambda: [batteries.freezing_from_gravity(D("1.155"))],
    "B29": lambda: [batteries.freezing_from_gravity(D("1.120"))],
    "T1": lambda: both_forms(0),
    "T2": lambda: both_forms(10),
    "T3": lambda: both_forms(20),
    "T4": lambda: both_forms(25),
    "T5": lambda: both_forms(30),
    "T6": lambda: both_forms(40),
    "T7": lambda: both_forms(50),
    "T8": lambda: [
        drains.open_surface_rate(25, 50, factor=factor)
        for factor in (1, drains.QUIET, drains.UNOCCUPIED)
    ],
    "T9": lambda: [drains.open_surface_rate(35, 20)],
    "T10": lambda: [drains.humidity_ratio_rate(25, 50)],
    "T11": lambda: [drains.still_pipe_rate(25, 50)],
    "T12": lambda: [drains.still_pipe_rate(35, 20)],
    "T13": lambda: [drains.days_for(51, D("2.48"))],
    "T14": lambda: [drains.days_for(51, D("0.261"))],
    "T15": lambda: [drains.days_for(51, D("2.5") / 7)],
    "T16": lambda: [drains.trap_volume(D("38.1"))],
    "T17": lambda: [drains.dew_point(25, 50)],
    "W1": lambda: bleach("50", "5.25", "50"),
    "W2": lambda: bleach("50", "6", "50"),
    "W3": lambda: bleach("50", "8.25", "50"),
    "W4": lambda: bleach("40", "6", "100"),
    "W5": lambda: bleach("15", "5.25", "50"),
    "W6": lambda: bleach("80", "8.25", "50"),
    "W7": lambda: [ppm("2", strong, "15") for strong in ("5.25", "6", "8.25")],
    "W8": lambda: [ppm("8", "5.25", "10")],
    "W9": lambda: [drop_of_a_teaspoon()],
    "W10": lambda: [drop("0.4"), drop("0.5")],
    "W11": lambda: [sanitizing.chlorine_after(50, left=D("0.05"), rinses=1)],
    "W12": lambda: [from_grains(1)],
    "W13": lambda: [
        hardness(value).name.replace("_", " ") for value in (60, 61, 120, 121, 180, 181)
    ],
    "F1": lambda: [
        antifreeze.freeze_point(30),
        convert(antifreeze.freeze_point(30).value, "°F", "°C"),
    ],
    "F2": lambda: [antifreeze.freeze_point(40), antifreeze.freeze_point(50)],
    "F3": lambda: [
        D("2.5") + D("2.5"),
        mixed("2.5", "60", "2.5"),
    ],
    "F4": lambda: [
        mixed("1", "30", "0.5"),
        antifreeze.freeze_point(mixed("1", "30", "0.5").value),
    ],
    "F5": lambda: [heater_takes(bypassed=True), heater_takes(bypassed=False)],
    "G1": lambda: [wastetank.box_volume(48, 24, 10)],
    "G2": lambda: [wastetank.cylinder_volume(12, 36)],
    "G3": lambda: [wastetank.box_volume(48, 24, 12)],
    "G4": lambda: [wastetank.dump_level(40)],
    "N1": lambda: [derated("set_manual", 4000, 5000)],
    "N2": lambda: [
        derated("sea_level", 4000, 5000),
        derated("sea_level_compounded", 4000, 5000),
    ],
    "N3": lambda: [derated("motorhome_manual", 5500, 5000)],
    "N4": oil_due,
    "N5": lambda: [derated("portable_500_m", 4000, 5000)],
    "N6": lambda: [derated("set_manual", 4000, 1000, 105)],
    "V1": lambda: [mains.capacity(mains.SERVICES[amps]) for amps in ("15", "20", "30")],
    "V2": lambda: [mains.capacity(mains.SERVICES["50"]), mains.watts(120, 50)],
    "V3": lambda: [mains.continuous(30), mains.watts(120, mains.continuous(30).value)],
    "V4": lambda: list(mains.voltage_band(10)),
    "V5": lambda: list(mains.voltage_band(5)),
    "V6": lambda: [mains.amps(1500), mains.amps(1500, 108)],
    "V7": lambda: [mains.inverter_amps(1500)],
}


def drop_of_a_teaspoon() -> Answer:
    return sanitizing.chlorine(D(1) / 6, strength=D(6), water=D("0.25"))


def heater_takes(*, bypassed: bool) -> Decimal:
    with_heater = antifreeze.amount(heater=6, bypassed=bypassed, traps=0)
    without = antifreeze.amount(heater=0, bypassed=bypassed, traps=0)
    return with_heater.least.value - without.least.value


ROWS = [row for row in rows("house_check_values.csv") if row["id"][0] not in "DE"]


def test_every_row_of_these_systems_is_worked() -> None:
    assert sorted(WORKED) == sorted(row["id"] for row in ROWS)


@pytest.mark.parametrize(
    "row", ROWS, ids=[f"{row['id']} {row['input']} - {row['basis']}" for row in ROWS]
)
def test_house_check_value(row: dict[str, str]) -> None:
    got = WORKED[row["id"]]()
    if isinstance(got[0], str):
        assert got == row["expected"].split(" / ")
        return
    printed = numbers(row["expected"])[: len(got)]
    for found, expected in zip(got, printed, strict=True):
        value = found.value if isinstance(found, Answer) else found
        assert isinstance(value, Decimal | int)
        assert abs(value - expected) <= allowed(row["tolerance"], expected)
