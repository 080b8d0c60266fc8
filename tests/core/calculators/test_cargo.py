"""Labels, people and fluids: the check values of the road side."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.cargo import (
    Aboard,
    Label,
    cargo_capacity,
    cargo_left,
    fluid_weight,
    relabel_trigger,
    seats_covered,
)

D = Decimal


# published: federal load-limit steps, owner's manuals
@pytest.mark.parametrize(
    ("placard", "people", "left"),
    [
        (1400, [150] * 5, 650),
        (1500, [150, 180, 160, 140, 120], 750),
        (1500, [200], 1300),
        (1000, [150] * 2, 700),
        (1000, [150] * 5, 250),
        (1000, [200] * 5, 0),
    ],
)
def test_cargo_left_of_the_placard(placard: int, people: list[int], left: int) -> None:
    assert cargo_left(placard, people).value == left


def test_water_of_heater_and_tank_by_the_label_rule() -> None:
    assert fluid_weight(50, "water").value == 415  # published: 8.3 lb/gal


def test_propane_of_a_tank_filled_to_80_percent() -> None:
    # published: motorhome manual, 4.2 lb/gal
    assert fluid_weight(30, "propane", fill=D("0.8")).value == D("100.8")


def test_label_of_a_motorhome_and_its_seats() -> None:
    # computed on FMVSS 120 and NHTSA letter 08-003469
    occc = cargo_capacity("occc", gvwr=22000, uvw=18500).value
    assert occc == 3500
    assert seats_covered(occc, 6).value == 3500 - 900


def test_label_of_2000_takes_off_water_propane_and_berths() -> None:
    # computed on the RVIA label of September 2000
    aboard = Aboard(fluid_weight(50, "water").value, D("100.8"), berths=4)
    got = cargo_capacity("ccc_2000", gvwr=22000, uvw=18300, aboard=aboard)
    assert abs(got.value - D("2568.2")) <= D("0.05")


@pytest.mark.parametrize("label", ["occc", "ccc", "ncc"])
def test_other_labels_take_off_the_unloaded_weight_alone(label: Label) -> None:
    aboard = Aboard(D(415), D(100), berths=4)
    got = cargo_capacity(label, gvwr=10000, uvw=7000, aboard=aboard)
    assert got.value == 3000


# computed: the lesser of 1.5 % of GVWR and 100 lb
@pytest.mark.parametrize(("gvwr", "pounds"), [(6000, 90), (8000, 100)])
def test_relabel_trigger(gvwr: int, pounds: int) -> None:
    assert relabel_trigger(gvwr).value == pounds


def test_an_unloaded_weight_above_the_rating_is_refused() -> None:
    with pytest.raises(CalculatorError, match=r"The UVW: 9,000 lb .* 0 to 8,000 lb"):
        cargo_capacity("ccc", gvwr=8000, uvw=9000)


def test_a_crowd_is_refused() -> None:
    with pytest.raises(CalculatorError, match="The number of people: 61"):
        cargo_left(1000, [150] * 61)


@given(st.lists(st.integers(20, 300), max_size=12), st.integers(20, 300))
def test_one_more_person_never_leaves_more(people: list[int], one: int) -> None:
    assert (
        cargo_left(2000, [*people, one]).value == cargo_left(2000, people).value - one
    )
