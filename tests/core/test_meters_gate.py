"""The gate of meters: what is asked about, and what may have been meant."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.facts import Meter, Reading, Replacement, Unit
from maintenance.core.meters import Verdict, judge_value

D = date.fromisoformat
ON = D("2026-03-01")


def meter(*pairs: tuple[str, int], unit: Unit = "mi") -> Meter:
    return Meter(unit, tuple(Reading(D(on), Decimal(v)) for on, v in pairs))


OWN = meter(("2026-02-01", 42000), ("2026-04-01", 42900))


def judge(value: str, own: Meter = OWN, on: date = ON, **others: Meter) -> Verdict:
    return judge_value(own, Reading(on, Decimal(value)), others=lambda: others or {})


def first(verdict: Verdict) -> tuple[str, Decimal]:
    return verdict.intended[0].cause, verdict.intended[0].value


def meant(verdict: Verdict, cause: str) -> object:
    return next((x.value for x in verdict.intended if x.cause == cause), None)


def keys(verdict: Verdict) -> list[str]:
    return [fact.key for fact in verdict.reasons]


def test_a_value_that_fits_needs_no_explaining() -> None:
    verdict = judge("42395")
    assert verdict.fits
    assert verdict.intended == ()


def test_both_neighbors_are_named() -> None:
    wrong = judge("1200").reasons[0]
    assert wrong.key == "doubtful_reading"
    assert wrong.values == {
        "value": Decimal(1200),
        "unit": "mi",
        "on": ON,
        "before": Decimal(42000),
        "before_on": D("2026-02-01"),
        "after": Decimal(42900),
        "after_on": D("2026-04-01"),
    }


@pytest.mark.parametrize(
    ("value", "reasons"),
    [
        ("1200", ["doubtful_reading", "below_earlier"]),
        ("42999", ["doubtful_reading", "above_later"]),
        ("99000", ["doubtful_reading", "too_fast", "above_later"]),
    ],
)
def test_each_reason_is_told_by_itself(value: str, reasons: list[str]) -> None:
    assert keys(judge(value)) == reasons


@pytest.mark.parametrize(
    ("typed", "cause", "value"),
    [
        ("423950", "digit_added", "42395"),
        ("4395", "digit_too_few", "42395"),
        ("24395", "digits_swapped", "42395"),
        ("422395", "digit_doubled", "42395"),
        ("423795", "digit_too_many", "42375"),
        ("68228.1", "other_unit", "42395.0"),  # 1 mi = 1.609344 km exactly
    ],
)
def test_what_was_meant_is_offered_with_its_cause(
    typed: str, cause: str, value: str
) -> None:
    offered = {(one.cause, one.value) for one in judge(typed).intended}
    assert (cause, Decimal(value)) in offered


def test_a_digit_added_is_likelier_than_one_within() -> None:
    """128,450 is 12,845 before it is 12,840."""
    own = meter(("2026-01-01", 12100), ("2026-02-01", 12800))
    values = [one.value for one in judge("128450", own).intended]
    assert values[0] == 12845
    assert values.index(Decimal(12840)) > 0


def test_kilometers_for_miles_come_before_digits_left_out() -> None:
    own = meter(("2026-01-01", 41500), ("2026-02-01", 42000))
    assert first(judge("68228", own)) == ("other_unit", Decimal("42394.9"))


def test_a_forgotten_decimal_point_is_a_slip_too() -> None:
    own = meter(("2026-02-01", 100), ("2026-04-01", 101), unit="h")
    assert first(judge("1005", own)) == ("digit_added", Decimal("100.5"))


def test_miles_for_kilometers() -> None:
    own = meter(("2026-02-01", 68000), ("2026-04-01", 69000), unit="km")
    assert meant(judge("42395", own), "other_unit") == Decimal("68228.1")


def test_a_meter_that_ran_over_its_last_digit() -> None:
    own = meter(("2026-02-01", 99900))
    assert meant(judge("250", own), "replaced") == Decimal(100250)


def test_another_rigs_reading() -> None:
    verdict = judge("18250", van=meter(("2026-02-20", 18100)))
    found = next(one for one in verdict.intended if one.cause == "other_rig")
    assert (found.rig, found.value) == ("van", 18250)


def test_hours_are_no_miles() -> None:
    own = meter(("2026-02-01", 100), ("2026-04-01", 120), unit="h")
    assert meant(judge("68", own), "other_unit") is None


def test_a_reading_already_entered_is_held_against_the_good_ones() -> None:
    own = meter(("2026-02-01", 42000), ("2026-03-01", 1200), ("2026-04-01", 42900))
    assert judge_value(own, own.readings[1]).reasons[0].values["before"] == 42000


def test_after_a_replacement_a_low_reading_fits() -> None:
    replaced = Replacement(D("2026-02-15"), Decimal(42100), Decimal(0))
    own = Meter("mi", OWN.readings[:1], (replaced,))
    assert judge("350", own).fits


def test_a_first_reading_fits_anything() -> None:
    verdict = judge("1", meter())
    assert verdict.fits
    assert verdict.echo is None


def test_figure_of_an_event_must_fit_the_reading_of_its_day_too() -> None:
    own = Meter("mi", (Reading(D("2026-05-04"), Decimal(40380)),))
    typed = Reading(D("2026-05-04"), Decimal(404000), fact="event")

    verdict = judge_value(own, typed)

    wrong = verdict.reasons[0].values
    assert (wrong["before"], wrong["before_on"]) == (40380, typed.on)
    assert first(verdict) == ("digit_added", 40400)


def test_a_slip_on_the_day_of_the_only_reading_is_asked_about() -> None:
    """It would take its place; there is nothing else to hold it against."""
    own = meter(("2026-03-01", 40380))
    assert first(judge("404000", own)) == ("digit_added", 40400)
    assert judge("40390", own).fits


# --- far outside what the rig does ----------------------------------------------------


def weekly(per_week: int, weeks: int = 60) -> Meter:
    """The last on 1 October 2025."""
    rows = [
        Reading(
            D("2025-10-01") - timedelta(weeks=weeks - n), Decimal(10_000 + per_week * n)
        )
        for n in range(weeks + 1)
    ]
    return Meter("mi", tuple(rows))


def test_what_the_rig_never_did_is_asked_about_and_echoed() -> None:
    """57,900 mi in 60 days, 965 a day, of a rig of 140 mi a week: 20 a day."""
    own = weekly(140)
    last = own.readings[-1].value
    verdict = judge(str(last + 57_900), own, on=D("2025-11-30"))
    assert verdict.possible
    assert keys(verdict) == ["outside_habit"]
    told = verdict.reasons[0].values
    assert (told["per_day"], told["usual_per_day"]) == (965, 20)
    assert verdict.echo is not None
    echo = verdict.echo.values
    assert (echo["gained"], echo["since"], echo["since_on"]) == (
        57_900,
        last,
        D("2025-10-01"),
    )
    assert (echo["days"], echo["per_day"]) == (60, 965)


@pytest.mark.parametrize(("days", "gain"), [(1, 600), (7, 1200), (60, 3000)])
def test_a_tour_is_not_asked_about(days: int, gain: int) -> None:
    own = weekly(140)
    on = D("2025-10-01") + timedelta(days=days)
    assert judge(str(own.readings[-1].value + gain), own, on=on).fits


def test_a_rig_that_did_it_before_is_not_asked() -> None:
    own = weekly(4900)  # 700 mi a day, all year
    assert judge(str(own.readings[-1].value + 42_000), own, on=D("2025-11-30")).fits


def test_what_the_rig_does_is_offered_before_what_it_never_did() -> None:
    own = weekly(140)
    last = own.readings[-1].value  # 18,400
    verdict = judge("185200", own, on=D("2025-10-05"))
    assert not verdict.possible
    assert last == 18400
    assert first(verdict) == ("digit_added", 18520)


@given(st.integers(0, 9_999_999), st.integers(-40, 400), st.integers(1, 3000))
def test_what_is_offered_fits_and_is_never_what_was_typed(
    value: int, ahead: int, per_week: int
) -> None:
    own, other = weekly(per_week), weekly(77)
    on = D("2025-10-01") + timedelta(days=ahead)
    verdict = judge(str(value), own, on=on, van=other)
    assert bool(verdict.intended) <= (not verdict.fits)
    for one in verdict.intended:
        there = other if one.rig else own
        assert judge_value(there, Reading(on, one.value)).possible
        assert one.rig or one.value != value
