"""Scale tickets, tongue and margins: the check values of the road side."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.weights import (
    SHARE_RULES,
    Share,
    Ticket,
    axle_rating,
    combined_rating,
    hitch_class_limit,
    lever_weight,
    margin,
    share_verdict,
    tire_margin,
    tongue_weight,
    trailer_weights,
    wheel_margins,
)

D = Decimal


def test_tongue_weight_with_the_trailer_off_the_platform() -> None:
    # published: a newspaper's guide
    assert tongue_weight(5600, 5000).value == 600


def test_trailer_weights_from_two_tickets() -> None:
    # computed
    alone = Ticket(D(3200), D(2900))
    got = trailer_weights(alone, Ticket(D(3100), D(3720), D(6480)))
    assert (got.trailer.value, got.tongue.value) == (7200, 720)
    assert (got.share.value, got.trailer_axles) == (10, 6480)


# published factors: a towing-parts page, x 3 and x 4
@pytest.mark.parametrize(("long_arm", "weight"), [(2, 450), (3, 600)])
def test_lever_weight_multiplies_by_the_span(long_arm: int, weight: int) -> None:
    assert lever_weight(150, short_arm=1, long_arm=long_arm).value == weight


def test_axle_rating_is_that_of_its_weakest_part() -> None:
    # published: 49 CFR 571.3, an example of a motorhome manual
    assert axle_rating(15000, tires=4, tire_rating=3200).value == 12800


def test_wheel_margins_against_half_the_axle() -> None:
    # published: fictitious figures in a coach manual
    left, right = wheel_margins(13000, 5000, 4000)
    assert (left.limit, left.left, right.left) == (6500, 1500, 2500)


def test_combined_rating_without_and_with_a_label() -> None:
    # computed on 49 CFR 390.5
    assert combined_rating((11000, 9950)).value == 20950
    assert combined_rating((11000, 9950), label=26000).value == 26000


# computed, 10 to 15 % of owner's manuals
@pytest.mark.parametrize(
    ("tongue", "verdict"),
    [(480, "low"), (600, "ok"), (900, "ok"), (960, "high")],
)
def test_share_verdict_of_a_conventional_trailer(tongue: int, verdict: Share) -> None:
    assert share_verdict(6000, tongue, SHARE_RULES["conventional"]) == verdict


# National Caravan Council 5-7 %; tow vehicles' manuals 9-11 %; trade 20-25 %, 15-25 %
@pytest.mark.parametrize(
    ("rule", "low", "high"),
    [
        ("uk_caravan", 5, 7),
        ("narrow", 9, 11),
        ("fifth_wheel_narrow", 20, 25),
        ("fifth_wheel", 15, 25),
    ],
)
def test_share_rules_as_published(rule: str, low: int, high: int) -> None:
    assert (SHARE_RULES[rule].low, SHARE_RULES[rule].high) == (low, high)


# SAE J684 by a published table (rdhs.com)
@pytest.mark.parametrize(
    ("trailer", "plain", "distributing"),
    [(2000, 200, 300), (2001, 300, 500), (3500, 300, 500), (6000, 900, 900)],
)
def test_hitch_class_limit(trailer: int, plain: int, distributing: int) -> None:
    assert hitch_class_limit(trailer, distributing=False).value == plain
    assert hitch_class_limit(trailer, distributing=True).value == distributing


def test_hitch_class_limit_above_class_four_is_refused() -> None:
    with pytest.raises(CalculatorError, match="100 to 10,000 lb"):
        hitch_class_limit(10001, distributing=True)


def test_passenger_tires_on_a_trailer_bear_a_tenth_less() -> None:
    # FMVSS 120 S5.1.2; the check value in kg: LI 97 of 730 kg, four of them 2,654.5
    got = tire_margin(2000, tires=4, tire_rating=730, passenger_on_trailer=True)
    assert abs(got.limit - D("2654.5")) <= D("0.05")
    assert abs(got.limit / 4 - D("663.6")) <= D("0.05")
    assert tire_margin(2000, tires=4, tire_rating=730).limit == 2920


def test_margin_over_a_rating_is_not_within() -> None:
    over = margin("GVWR", 22100, 22000)
    assert (over.left, over.within) == (-100, False)
    assert margin("GVWR", 22000, 22000).within


@pytest.mark.parametrize(
    ("coupled", "alone"), [("4900", "5000"), ("NaN", "5000"), ("5600", "-1")]
)
def test_weights_that_cannot_be_are_refused(coupled: str, alone: str) -> None:
    with pytest.raises(CalculatorError, match="can't be right"):
        tongue_weight(D(coupled), D(alone))


LB = st.integers(100, 20000)


@given(steer=LB, drive=LB, tongue=st.integers(50, 3000), axles=LB)
def test_tickets_add_up(steer: int, drive: int, tongue: int, axles: int) -> None:
    alone = Ticket(D(steer), D(drive))
    coupled = Ticket(D(steer), D(drive + tongue), D(axles))
    got = trailer_weights(alone, coupled)
    assert got.tongue.value + got.trailer_axles == got.trailer.value
    assert got.tongue.value == tongue


@given(load=LB, more=st.integers(1, 5000), limit=LB)
def test_more_load_never_leaves_more(load: int, more: int, limit: int) -> None:
    assert margin("GAWR", load + more, limit).left < margin("GAWR", load, limit).left
