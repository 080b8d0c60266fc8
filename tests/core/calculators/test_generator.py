"""What altitude and heat leave of a generator."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.generator import (
    CAUTIONS,
    RULES,
    Derating,
    load_share,
    output,
    outputs,
)

D = Decimal
EVERY = pytest.mark.parametrize("rule", RULES.values(), ids=list(RULES))


def left(rule: str, altitude: str, temperature: str = "59") -> Decimal:
    at = {"altitude": D(altitude), "temperature": D(temperature)}
    return output(4000, rule=RULES[rule], **at).value


# Worked by hand from the printed rules; 1,800 m are 5,905.51 ft, 1,500 m 4,921.26 ft.
@pytest.mark.parametrize(
    ("rule", "altitude", "temperature", "watts"),
    [
        ("set_manual", "1000", "85", "4000"),
        ("set_manual", "0", "95", "3920"),
        ("set_manual", "5000", "95", "3360"),
        ("portable_300_m", "4921", "59", "4000"),
        ("portable_300_m", "5905.511811", "59", "3860"),
        ("portable_500_m", "0", "104", "4000"),
        ("portable_500_m", "0", "113", "3880"),
    ],
)
def test_output_by_each_rule(
    rule: str, altitude: str, temperature: str, watts: str
) -> None:
    assert abs(left(rule, altitude, temperature) - D(watts)) <= D("0.01")


def test_outputs_name_every_rule() -> None:
    got = outputs(4000, altitude=6000)
    assert [rule.key for rule, _ in got] == list(RULES)
    assert all(answer.source.startswith(rule.source) for rule, answer in got)


def test_half_load_is_told_of_what_is_left() -> None:
    # exercise at half load or more: RV newsletter, owner article
    got = load_share(1720, output(4000, altitude=5000, rule=RULES["set_manual"]))
    assert got.value == 50
    assert any("Carbon monoxide" in told for told in CAUTIONS)


@EVERY
@given(altitude=st.integers(-1500, 14900), temperature=st.integers(-60, 130))
def test_higher_never_gives_more(
    rule: Derating, altitude: int, temperature: int
) -> None:
    low, high = (
        output(4000, altitude=feet, temperature=temperature, rule=rule).value
        for feet in (altitude, altitude + 100)
    )
    assert 0 <= high <= low <= 4000


@EVERY
@given(altitude=st.integers(-1500, 15000), temperature=st.integers(-60, 129))
def test_hotter_never_gives_more(
    rule: Derating, altitude: int, temperature: int
) -> None:
    cool, hot = (
        output(4000, altitude=altitude, temperature=t, rule=rule).value
        for t in (temperature, temperature + 1)
    )
    assert 0 <= hot <= cool


@pytest.mark.parametrize(
    ("altitude", "temperature", "what"),
    [
        ("30000", "59", "The altitude: 30,000 ft"),
        ("0", "300", "The temperature: 300 °F .* -60 to 130 °F"),
        ("NaN", "59", "The altitude"),
    ],
)
def test_a_place_that_cannot_be_is_refused(
    altitude: str, temperature: str, what: str
) -> None:
    with pytest.raises(CalculatorError, match=what):
        left("set_manual", altitude, temperature)
