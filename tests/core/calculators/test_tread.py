"""Tread depth against each published limit."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.tread import (
    RULES,
    Position,
    TreadRule,
    tread_verdicts,
)

D = Decimal


def passed(depth: str, unit: str, position: Position, **kind: bool) -> dict[str, bool]:
    verdicts = tread_verdicts(D(depth), unit, position=position, **kind)
    return {verdict.rule.key: verdict.passes for verdict in verdicts}


def test_three_thirty_seconds_on_a_motorhome_steer_axle() -> None:
    # 49 CFR 393.75(b): fails 4/32; passes the 2/32 rule of the states
    got = passed("3", "1/32 in", "steer", heavy=True)
    assert (got["us_steer"], got["us_states"]) == (False, True)


@pytest.mark.parametrize(
    ("key", "mm"),
    [
        ("us_steer", "3.175"),  # 49 CFR 393.75(b)
        ("us_other", "1.5875"),  # 49 CFR 393.75(c)
        ("us_states", "1.5875"),  # COMAR 11.14.05.05
        ("europe", "1.6"),  # UNECE, EU
        ("bc_front", "3"),  # British Columbia, driving manual p. 72
        ("bc_rear", "1.6"),  # same
        ("bc_winter", "3.5"),  # same
    ],
)
def test_limit_of_each_rule_as_published(key: str, mm: str) -> None:
    rule = next(rule for rule in RULES if rule.key == key)
    assert rule.limit_mm == D(mm)


@pytest.mark.parametrize("rule", RULES, ids=[rule.key for rule in RULES])
def test_on_the_limit_passes_and_just_under_it_fails(rule: TreadRule) -> None:
    kind = {"heavy": True, "winter": True}
    for place in rule.positions:
        on, under = str(rule.limit_mm), str(rule.limit_mm - D("0.001"))
        assert passed(on, "mm", place, **kind)[rule.key]
        assert not passed(under, "mm", place, **kind)[rule.key]


def test_the_truck_rule_is_left_out_for_a_light_rig() -> None:
    assert "us_steer" not in passed("5", "1/32 in", "steer")
    assert "us_steer" not in passed("5", "1/32 in", "trailer", heavy=True)


@given(depth=st.decimals("0", "20", places=2), more=st.decimals("0.01", "5", places=2))
def test_more_tread_never_fails_what_less_passes(depth: Decimal, more: Decimal) -> None:
    worn = tread_verdicts(depth, "mm", position="steer", heavy=True, winter=True)
    fresh = tread_verdicts(
        depth + more, "mm", position="steer", heavy=True, winter=True
    )
    assert all(
        new.passes or not old.passes for old, new in zip(worn, fresh, strict=True)
    )


@pytest.mark.parametrize("depth", ["-1", "31", "NaN", "Infinity"])
def test_a_depth_that_cannot_be_is_refused(depth: str) -> None:
    with pytest.raises(CalculatorError, match="Enter 0 to 30 mm"):
        tread_verdicts(D(depth), "mm", position="steer")
