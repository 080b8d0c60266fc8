"""How long a battery lasts, against an integration and by its properties."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from maintenance.core.calculators.answers import Answer, CalculatorError
from maintenance.core.calculators.batteries import Kind
from maintenance.core.calculators.loads import (
    LOADS,
    NO_DRAIN,
    Drain,
    measured,
    sum_loads,
)
from maintenance.core.calculators.runway import (
    SELF_DISCHARGE,
    Runway,
    battery_runway,
    days_to,
    self_discharge_at,
)
from tests.core.calculators.reference import rows

D = Decimal


def value(answer: Answer | None) -> Decimal:
    assert answer is not None
    return answer.value


def put_away(drain: Drain, kind: Kind = "flooded", lowest: int = 0) -> Runway:
    return battery_runway(
        100,
        kind,
        charge=100,
        drain=drain,
        usual_temperature=50,
        lowest_temperature=lowest,
    )


# --- published rows -----------------------------------------------------------------


@pytest.mark.parametrize(
    "row",
    rows("loads_12v.csv"),
    ids=lambda row: f"{row['load']} - {row['how_known']}",
)
def test_a_listed_load_is_in_the_table(row: dict[str, str]) -> None:
    index = [each["load"] for each in rows("loads_12v.csv")].index(row["load"])
    load = list(LOADS.values())[index]
    assert (load.low, load.high) == (D(row["amps_low"]), D(row["amps_high"]))
    assert re.split(r"\W", load.name)[0] == re.split(r"\W", row["load"])[0]
    assert ("memory" in load.source) == (row["how_known"] == "memory")


def test_the_table_of_loads_has_no_more_rows() -> None:
    assert len(LOADS) == len(rows("loads_12v.csv"))


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        (row, kind)
        for row in rows("self_discharge.csv")
        for kind, name in (
            ("flooded", "flooded lead-acid"),
            ("agm", "AGM / sealed lead-acid"),
            ("lifepo4", "LiFePO4"),
        )
        if row["battery"] == name
    ],
    ids=lambda part: part if isinstance(part, str) else part["how_known"],
)
def test_self_discharge_as_published(row: dict[str, str], kind: Kind) -> None:
    rate = SELF_DISCHARGE[kind]
    assert rate.low == D(row["percent_per_month_low"])
    assert rate.high == D(row["percent_per_month_high"])
    assert rate.typical == D(row["default_at_77F"])


def test_the_warm_supplier_figure_lies_within_the_span() -> None:
    # one supplier: about 4 % a week at 80 °F
    warm = next(r for r in rows("self_discharge.csv") if "warm" in r["battery"])
    flooded = SELF_DISCHARGE["flooded"]
    assert flooded.low <= D(warm["default_at_77F"]) <= flooded.high


# --- scipy as an independent reference ----------------------------------------------


def integrated(capacity: float, end: float, amps: float, monthly: float) -> float:
    """Days from full to `end` percent with self-discharge of what is left."""

    def flow(_day: float, charge: list[float]) -> list[float]:
        return [-24 * amps - charge[0] * monthly / 100 / 30]

    def reached(_day: float, charge: list[float]) -> float:
        return charge[0] - capacity * end / 100

    reached.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(flow, (0, 5000), [capacity], events=reached, rtol=1e-9)
    return float(found.t_events[0][0])


@pytest.mark.parametrize(
    ("amps", "monthly", "end", "most"),
    [(0.05, 5, 69, 0.03), (0.05, 5, 50, 0.05), (0.02, 10, 50, 0.15), (0, 5, 69, 0.2)],
)
def test_the_estimate_is_a_little_earlier_than_the_integration(
    amps: float, monthly: float, end: float, most: float
) -> None:
    # the published formula takes self-discharge of the whole capacity: the safe side
    truth = integrated(100, end, amps, monthly)
    got = days_to(
        100, start=100, end=D(end), drain=D(str(amps)), self_discharge=D(monthly)
    )
    assert truth * (1 - most) <= float(value(got)) <= truth


def test_a_swinging_temperature_is_used_up_faster_than_its_mean() -> None:
    # doubling per 18 °F is curved: the mean of the rates is above the rate of the mean
    rates = [self_discharge_at(5, t).value for t in (41, 59, 77)]
    assert sum(rates) / 3 > self_discharge_at(5, 59).value


def test_the_formula_can_be_followed_by_hand() -> None:
    # worked in the house reference: 22.65 days
    found = days_to(100, start=100, end=D("69.05"), drain=D("0.05"), self_discharge=5)
    assert found is not None
    assert found.formula == (
        "100 Ah · (100 % - 69.05 %) ÷ (24 · 0.05 A + 100 Ah · 5 % ÷ 30) = 22.6 d"
    )


# --- the runway ---------------------------------------------------------------------


def test_recharge_comes_first_then_half_then_empty() -> None:
    got = put_away(measured(D("0.05")))
    days = [value(part.likely) for part in (got.recharge, got.half, got.empty)]
    assert days == sorted(days)
    assert round(got.recharge.threshold, 2) == D("69.05")  # 12.40 V by the BCI table


def test_a_likely_day_lies_between_early_and_late() -> None:
    drain = sum_loads([(LOADS["alarm_older"], 1), (LOADS["radio_memory"], 1)])
    days = put_away(drain).half
    assert value(days.early) < value(days.likely) < value(days.late)


def test_loads_add_up_by_the_part_of_the_time() -> None:
    # 0.07 to 0.125 A always on, 4 to 8 A for a hundredth of the time (from memory)
    drain = sum_loads([(LOADS["alarm_older"], 1), (LOADS["water_pump"], D("0.01"))])
    assert drain == Drain(D("0.11"), D("0.1575"), D("0.205"))


def test_disconnecting_gains_days() -> None:
    with_alarm = put_away(measured(D("0.1"))).recharge
    alone = put_away(NO_DRAIN).recharge
    assert value(alone.likely) > 10 * value(with_alarm.likely)


def test_freezing_is_told_where_it_can_come() -> None:
    cold = put_away(measured(D("0.05")), lowest=-13).freezing
    assert cold is not None
    assert abs(cold.threshold - 50) < 1  # 50 % freezes at -13 °F, the two tables joined
    assert put_away(measured(D("0.05")), lowest=20).freezing is None
    assert put_away(measured(D("0.05")), "lifepo4", lowest=-40).freezing is None


def test_a_battery_below_its_threshold_has_no_days_left() -> None:
    got = days_to(100, start=40, end=50, drain=D("0.1"), self_discharge=5)
    assert value(got) == 0


def test_nothing_that_draws_gives_no_day() -> None:
    assert days_to(100, start=100, end=50, drain=0, self_discharge=0) is None


def test_a_lithium_battery_warns_of_charging_below_freezing() -> None:
    got = put_away(NO_DRAIN, "lifepo4")
    assert any("below freezing" in caution for caution in got.cautions)
    assert got.recharge.threshold == 50


@pytest.mark.parametrize(
    ("capacity", "charge", "temperature", "message"),
    [
        ("0", "100", "50", "The capacity: 0 Ah .* 1 to 2,000 Ah"),
        ("100", "101", "50", "The charge: 101 %"),
        ("100", "100", "300", "The temperature: 300 °F .* -60 to 150 °F"),
        ("NaN", "100", "50", "The capacity: NaN Ah"),
    ],
)
def test_a_battery_that_cannot_be_is_refused(
    capacity: str, charge: str, temperature: str, message: str
) -> None:
    with pytest.raises(CalculatorError, match=message):
        battery_runway(
            D(capacity),
            "flooded",
            charge=D(charge),
            drain=NO_DRAIN,
            usual_temperature=D(temperature),
            lowest_temperature=0,
        )


def test_loads_that_cannot_be_are_refused() -> None:
    endless = replace(LOADS["leveling"], high=D(501))
    with pytest.raises(CalculatorError, match="0 to 500 A"):
        sum_loads([(endless, 1)])
    with pytest.raises(CalculatorError, match="The part of the time"):
        sum_loads([(LOADS["router"], 2)])


AMPS = st.decimals("0", "20", places=3)
RATE = st.decimals("0.1", "30", places=1)


@given(capacity=st.integers(1, 1000), drain=AMPS, more=AMPS, rate=RATE)
def test_more_drain_never_lasts_longer(
    capacity: int, drain: Decimal, more: Decimal, rate: Decimal
) -> None:
    light, heavy = (
        days_to(capacity, start=90, end=50, drain=amps, self_discharge=rate)
        for amps in (drain, drain + more)
    )
    assert 0 < value(heavy) <= value(light)


@given(warm=st.integers(-60, 149), rate=RATE)
def test_colder_never_discharges_faster(warm: int, rate: Decimal) -> None:
    cold, hot = (self_discharge_at(rate, t).value for t in (warm, warm + 1))
    assert 0 < cold < hot
