"""A doubtful reading: its neighbors, and the causes a form offers."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.facts import Fact, Meter, Reading, Replacement, Unit
from maintenance.core.meters import explain_doubtful

D = date.fromisoformat
ON = D("2026-03-01")


def meter(*pairs: tuple[str, int], unit: Unit = "mi") -> Meter:
    return Meter(unit, tuple(Reading(D(on), Decimal(v)) for on, v in pairs))


OWN = meter(("2026-02-01", 42000), ("2026-04-01", 42900))


def explain(value: str, own: Meter = OWN, **others: Meter) -> tuple[Fact, ...]:
    return explain_doubtful(own, Reading(ON, Decimal(value)), others=others)


def meant(facts: tuple[Fact, ...], cause: str) -> object:
    return next(f.values["meant"] for f in facts if f.key == f"cause_{cause}")


def test_a_reading_that_fits_needs_no_explaining() -> None:
    assert explain("42395") == ()


def test_both_neighbors_are_named() -> None:
    wrong = explain("1200")[0]
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


def test_all_four_causes_are_offered_whatever_is_known() -> None:
    assert {fact.key for fact in explain("7")[1:]} == {
        "cause_typing_slip",
        "cause_replaced",
        "cause_other_unit",
        "cause_other_rig",
    }


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("423950", "42395"),  # a digit too many
        ("4395", "42395"),  # one left out
        ("24395", "42395"),  # two swapped
        ("423395", "42395"),  # one typed twice
    ],
)
def test_a_slip_in_typing_says_what_was_meant(typed: str, value: str) -> None:
    facts = explain(typed)
    assert facts[1].key == "cause_typing_slip"
    assert meant(facts, "typing_slip") == Decimal(value)


def test_a_forgotten_decimal_point_is_a_slip_too() -> None:
    own = meter(("2026-02-01", 100), ("2026-04-01", 101), unit="h")
    assert meant(explain("1005", own), "typing_slip") == Decimal("100.5")


def test_miles_for_kilometers() -> None:
    """42,395 mi read as 68,228.1 km (1 mi = 1.609344 km exactly)."""
    assert meant(explain("68228.1"), "other_unit") == Decimal("42395.0")


def test_kilometers_for_miles() -> None:
    own = meter(("2026-02-01", 68000), ("2026-04-01", 69000), unit="km")
    assert meant(explain("42395", own), "other_unit") == Decimal("68228.1")


def test_a_meter_that_ran_over_its_last_digit() -> None:
    own = meter(("2026-02-01", 99900))
    assert meant(explain("250", own), "replaced") == Decimal(100250)


def test_another_rigs_reading() -> None:
    facts = explain("18250", van=meter(("2026-02-20", 18100)))
    cause = next(f for f in facts if f.key == "cause_other_rig")
    assert cause.values["rig"] == "van"


def test_hours_are_no_miles() -> None:
    own = meter(("2026-02-01", 100), ("2026-04-01", 120), unit="h")
    assert meant(explain("68", own), "other_unit") is None


def test_a_reading_already_entered_is_held_against_the_good_ones() -> None:
    own = meter(("2026-02-01", 42000), ("2026-03-01", 1200), ("2026-04-01", 42900))
    wrong = explain_doubtful(own, own.readings[1])[0]
    assert wrong.values["before"] == 42000


def test_after_a_replacement_a_low_reading_fits() -> None:
    replaced = Replacement(D("2026-02-15"), Decimal(42100), Decimal(0))
    own = Meter("mi", OWN.readings[:1], (replaced,))
    assert explain("350", own) == ()


def test_a_first_reading_fits_anything() -> None:
    assert explain("1", meter()) == ()


def test_figure_of_an_event_must_fit_the_reading_of_its_day_too():
    own = Meter("mi", (Reading(D("2026-05-04"), Decimal(40380)),))
    typed = Reading(D("2026-05-04"), Decimal(404000), fact="event")

    wrong, slip, *_others = explain_doubtful(own, typed)

    assert (wrong.values["before"], wrong.values["before_on"]) == (40380, typed.on)
    assert slip.values["meant"] == 40400
    corrects = Reading(typed.on, typed.value)
    assert explain_doubtful(own, corrects) == ()
