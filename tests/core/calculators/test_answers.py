"""The common shape of the bench, and every calculator on any figure at all."""

import dataclasses
from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.calculators import (
    antifreeze,
    batteries,
    cargo,
    cost,
    drains,
    generator,
    hardness,
    mains,
    pressure,
    propane,
    runway,
    sanitizing,
    torque_answers,
    tread,
    wastetank,
    weights,
)
from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    between,
    limits,
    num,
    table,
)
from maintenance.core.calculators.loads import Drain, measured

D = Decimal
SET = generator.RULES["set_manual"]
SEA = generator.RULES["sea_level_compounded"]


def burn(pounds: Decimal, demand: Decimal, duty: Decimal) -> Answer:
    heat = propane.heat_of_pounds(pounds)
    return propane.hours_left(heat, [propane.Appliance("stove", demand, duty)])


def put_away(capacity: Decimal, charge: Decimal, warm: Decimal) -> runway.Runway:
    return runway.battery_runway(
        capacity,
        "flooded",
        charge=charge,
        drain=Drain(D(0), D("0.1"), D(1)),
        usual_temperature=warm,
        lowest_temperature=warm,
    )


# every calculator on three figures, some fixed
CALCULATORS: dict[str, Callable[[Decimal, Decimal, Decimal], object]] = {
    "atmosphere": lambda a, b, c: pressure.atmosphere(a),
    "pressure_at": lambda a, b, c: pressure.pressure_at(
        a, "psi", measured_at=b, expected_at=c
    ),
    "pressure_at in kPa": lambda a, b, c: pressure.pressure_at(
        a, "kPa", measured_at=b, expected_at=c, degrees="°C", altitude_ft=9000
    ),
    "change": lambda a, b, c: pressure.change_per_ten_degrees(a, "bar", at=b),
    "rule": lambda a, b, c: pressure.where_the_rule_holds(a, b),
    "warning": lambda a, b, c: pressure.warning_level(a, "psi"),
    "under": lambda a, b, c: pressure.under_inflation(a, b, "psi"),
    "load": lambda a, b, c: pressure.load_at_pressure(a, [(b, c)]),
    "tread": lambda a, b, c: tread.tread_verdicts(a, "mm", position="steer"),
    "tongue": lambda a, b, c: weights.tongue_weight(a, b),
    "tickets": lambda a, b, c: weights.trailer_weights(
        weights.Ticket(a, b), weights.Ticket(a, b, c)
    ),
    "lever": lambda a, b, c: weights.lever_weight(a, short_arm=b, long_arm=c),
    "share": lambda a, b, c: weights.share_verdict(
        a, b, weights.SHARE_RULES["conventional"]
    ),
    "hitch": lambda a, b, c: weights.hitch_class_limit(a, distributing=True),
    "margin": lambda a, b, c: weights.margin("GVWR", a, b),
    "axle": lambda a, b, c: weights.axle_rating(a, tires=4, tire_rating=b),
    "combined": lambda a, b, c: weights.combined_rating((a, b), c),
    "fluid": lambda a, b, c: cargo.fluid_weight(a, "water", fill=b),
    "capacity": lambda a, b, c: cargo.cargo_capacity(
        "ccc_2000", gvwr=a, uvw=b, aboard=cargo.Aboard(c, c, 4)
    ),
    "cargo left": lambda a, b, c: cargo.cargo_left(a, [b, c]),
    "relabel": lambda a, b, c: cargo.relabel_trigger(a),
    "fill": lambda a, b, c: propane.fill_by_weight(a),
    "fill by volume": lambda a, b, c: propane.fill_by_volume(a),
    "gallons": lambda a, b, c: propane.heat_of_gallons(a),
    "burn": burn,
    "propane pressure": lambda a, b, c: propane.vapor_pressure(a),
    "density": lambda a, b, c: propane.liquid_density(a),
    "lock-up": lambda a, b, c: propane.lock_up(a),
    "volts": lambda a, b, c: batteries.charge_from_volts(a, "agm"),
    "gravity": lambda a, b, c: batteries.charge_from_gravity(a, b),
    "freezing": lambda a, b, c: batteries.freezing_from_charge(a),
    "freezes": lambda a, b, c: batteries.charge_that_freezes(a),
    "peukert": lambda a, b, c: batteries.hours_at_load(a, b, exponent=c),
    "days": lambda a, b, c: runway.days_to(
        a, start=b, end=c, drain=D("0.1"), self_discharge=b
    ),
    "runway": put_away,
    "drain": lambda a, b, c: measured(a),
    "dry-out": lambda a, b, c: drains.dry_out(a, b, seal=c),
    "dew point": lambda a, b, c: drains.dew_point(a, b),
    "days for": lambda a, b, c: drains.days_for(a, b),
    "trap": lambda a, b, c: drains.trap_volume(a, b),
    "humidity ratio": lambda a, b, c: drains.humidity_ratio_rate(a, b, air_speed=c),
    "open water": lambda a, b, c: drains.open_water_rate(a, b, air_speed=c),
    "bleach": lambda a, b, c: sanitizing.bleach_dose(a, strength=b, target=c),
    "chlorine": lambda a, b, c: sanitizing.chlorine(a, strength=b, water=c),
    "rinses": lambda a, b, c: sanitizing.rinses_needed(a, left=b, below=c),
    "glycol": lambda a, b, c: antifreeze.freeze_point(a),
    "burst": lambda a, b, c: antifreeze.burst_point(a),
    "strength": lambda a, b, c: antifreeze.strength_for(a),
    "diluted": lambda a, b, c: antifreeze.diluted(a, strength=b, water=c),
    "concentrate": lambda a, b, c: antifreeze.concentrate_for(
        a, strength=b, concentrate=c
    ),
    "amount": lambda a, b, c: antifreeze.amount(heater=a, bypassed=False, traps=3),
    "frost": lambda a, b, c: antifreeze.frost_risk(a),
    "box": wastetank.box_volume,
    "cylinder": lambda a, b, c: wastetank.cylinder_volume(a, b),
    "dump": lambda a, b, c: wastetank.dump_level(a),
    "cleaning": lambda a, b, c: wastetank.cleaning_amounts(a),
    "generator": lambda a, b, c: generator.output(
        a, altitude=b, temperature=c, rule=SET
    ),
    "compounded": lambda a, b, c: generator.load_share(
        a, generator.output(a, altitude=b, rule=SEA)
    ),
    "watts": lambda a, b, c: mains.watts(a, b),
    "amps": lambda a, b, c: mains.amps(a, b),
    "band": lambda a, b, c: mains.voltage_band(a, b),
    "voltage": lambda a, b, c: mains.judge_voltage(a),
    "inverter": lambda a, b, c: mains.inverter_amps(a, battery_volts=b, efficiency=c),
    "hardness": lambda a, b, c: hardness.hardness(a),
    "grains": lambda a, b, c: hardness.from_grains(a),
    "per mile": lambda a, b, c: cost.cost_per_distance(
        a, b, unit="mi", money_words=str
    ),
    "economy": lambda a, b, c: cost.fuel_economy(
        [cost.Fill(D(0), D(1)), cost.Fill(a, b, cost=c)]
    ),
    "torque": lambda a, b, c: torque_answers.in_unit(a, "ft·lbf", "N·m"),
    "adapter": lambda a, b, c: torque_answers.adapter(a, "N·m", length=b, extension=c),
    "tolerance": lambda a, b, c: torque_answers.tolerance(a, "N·m", b),
}
SENSIBLE = st.one_of(st.integers(-100, 300), st.decimals("-60", "400", places=2))
ANY = st.one_of(SENSIBLE, st.integers(300, 40000), st.decimals()).map(D)


def figures(found: object) -> Iterator[Decimal]:
    """Every number in a result, however deep."""
    if isinstance(found, Decimal):
        yield found
    elif isinstance(found, tuple | list):
        for part in found:
            yield from figures(part)
    elif dataclasses.is_dataclass(found):
        for field in dataclasses.fields(found):
            yield from figures(getattr(found, field.name))


@pytest.mark.parametrize("name", CALCULATORS)
@settings(max_examples=40)  # times some seventy calculators
@given(a=ANY, b=ANY, c=ANY)
def test_any_figures_give_a_finite_result_or_our_error(
    name: str, a: Decimal, b: Decimal, c: Decimal
) -> None:
    try:
        found = CALCULATORS[name](a, b, c)
    except CalculatorError:
        found = ()
    assert all(figure.is_finite() for figure in figures(found))


def test_a_refusal_names_what_value_and_plausible_range() -> None:
    with pytest.raises(CalculatorError) as caught:
        runway.self_discharge_at(5, 300)
    error = caught.value
    assert (error.what, error.value) == ("The temperature", "300 °F")
    assert error.plausible == "-60 to 150 °F"
    assert str(error) == (
        "The temperature: 300 °F can't be right. Enter -60 to 150 °F."
    )


@pytest.mark.parametrize("value", ["sNaN", "-sNaN", "1E+999999", "-Infinity"])
def test_limits_refuse_what_is_no_number(value: str) -> None:
    with pytest.raises(CalculatorError, match="The charge"):
        limits("The charge", "0", "100", "%").check(D(value))


def test_limits_take_a_value_in_another_unit() -> None:
    psi = limits("The pressure", "1", "200", "psi")
    assert psi.check_as(100, "kPa").quantize(D("0.001")) == D("14.504")
    with pytest.raises(CalculatorError, match="is a unit of length"):
        psi.check_as(100, "ft")


def test_between_is_straight_and_held_at_the_ends() -> None:
    points = table("10 100, 0 0, 20 400")
    got = [between(points, D(at)) for at in (-5, 0, 5, 10, 15, 20, 25)]
    assert got == [0, 0, 50, 100, 250, 400, 400]


def test_num_groups_and_drops_idle_zeros() -> None:
    assert [num(D("42310.50")), num(D("0.004")), num(3)] == ["42,310.5", "0", "3"]


HARMFUL = [
    (batteries.charge_from_volts(D("12.4"), "flooded"), "hydrogen"),
    (batteries.freezing_from_charge(50), "frozen"),
    (propane.fill_by_weight(D("47.6")), "leak solution"),
    (sanitizing.bleach_dose(50, strength=6, target=50), "Never mix"),
    (antifreeze.freeze_point(30), "poison"),
    (generator.output(4000, altitude=0, rule=SET), "Carbon monoxide"),
    (mains.capacity(mains.SERVICES["30"]), "licensed electrician"),
    (drains.dry_out(25, 50).earliest, "Never cap or block"),
    (pressure.warning_level(80, "psi"), "do not drive"),
]


@pytest.mark.parametrize(("answer", "told"), HARMFUL, ids=[told for _, told in HARMFUL])
def test_a_figure_that_can_hurt_carries_its_caution(answer: Answer, told: str) -> None:
    assert any(told in caution for caution in answer.cautions)
