"""The facts behind a forecast: what an owner is told that it rests on."""

from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import Fact, Stay
from maintenance.core.forecast import fit
from tests.core.forecast_builders import Readings, drive, steady

TODAY = date(2026, 5, 4)
WINTER = Stay(date(2025, 11, 5), date(2026, 3, 20))


def told(readings: Readings, *stays: Stay) -> dict[str, Fact]:
    why = fit(readings, unit="mi", as_of=TODAY, stays=stays).why
    return {fact.key: fact for fact in why}


def changed(now: float, ago: int) -> Readings:
    since = TODAY - timedelta(days=ago)
    return drive(
        TODAY - timedelta(days=900), TODAY, lambda on: now if on > since else 40.0
    )


def test_steady_use_rests_on_its_readings_alone() -> None:
    facts = told(steady(TODAY))
    assert list(facts) == ["forecast_rests_on"]
    assert facts["forecast_rests_on"].values == {
        "readings": 54,
        "years": Decimal("2.0"),
    }


def test_a_changed_habit_is_told_with_its_day_and_both_figures() -> None:
    values = told(changed(12.0, 120))["forecast_habit_changed"].values
    since, before, now = values["since"], values["before"], values["now"]
    assert isinstance(since, date)
    assert abs((since - TODAY).days + 120) <= 21
    assert isinstance(before, Decimal)
    assert isinstance(now, Decimal)
    assert 1100 <= before <= 1300  # 40 mi a day: 1,200
    assert 330 <= now <= 470  # 12 mi a day: 360, not yet all believed
    assert [str(before), str(now)] == [f"{int(before)}", f"{int(now)}"]


def test_a_little_more_use_is_no_other_habit() -> None:
    assert "forecast_habit_changed" not in told(changed(46.0, 120))


def test_the_last_winter_is_told_while_the_next_is_not_entered() -> None:
    fact = told(steady(TODAY), WINTER)["forecast_parked_before"]
    assert fact.values == {"start": WINTER.start, "until": WINTER.until}
    ahead = Stay(date(2026, 11, 1), planned_until=date(2027, 3, 1))
    assert "forecast_parked_before" not in told(steady(TODAY), WINTER, ahead)


def test_a_winter_long_past_or_a_short_stay_is_not_told() -> None:
    long_past = Stay(date(2023, 11, 5), date(2024, 3, 20))
    short = Stay(date(2026, 2, 1), date(2026, 2, 20))
    assert "forecast_parked_before" not in told(steady(TODAY), long_past, short)


def test_no_use_is_told_alone() -> None:
    still = [(TODAY - timedelta(days=n), Decimal(7)) for n in (400, 300, 200, 0)]
    assert list(told(still, WINTER)) == ["forecast_rests_on", "forecast_no_use"]


def test_no_reading_is_told_alone() -> None:
    assert list(told([])) == ["forecast_no_readings"]
