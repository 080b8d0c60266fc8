"""Vehicle identification numbers against 49 CFR 565.13 and 565.15."""

import pytest

from maintenance.core.calculators import vin

from .vectors import rows

NUMBERS = rows("vin_test_vectors", "vin", "origin")


@pytest.mark.parametrize("row", NUMBERS)
def test_check_digit(row):
    found = vin.check_vin(row["vin"])
    assert found.passes is (row["result"] == "valid")
    assert len(found.vin) == int(row["length"])
    if row["weighted_sum"]:
        assert found.total == int(row["weighted_sum"])
        assert found.total % 11 == int(row["remainder_mod_11"])
        assert found.expected == row["expected_check_character"]
    else:
        assert found.total is None
        assert found.problem in {"length", "alphabet"}


@pytest.mark.parametrize("row", NUMBERS)
def test_model_year(row):
    told = row["model_year_by_position_7_rule"]
    if row["weighted_sum"]:
        assert vin.model_year(row["vin"]) == (int(told) if told else None)


@pytest.mark.parametrize("row", rows("vin_transliteration", "character", "comment"))
def test_value_of_a_character(row):
    value = int(row["value"]) if row["value"] else None
    assert vin.VALUES.get(row["character"]) == value


@pytest.mark.parametrize("row", rows("vin_weights", "position", "comment"))
def test_weight_of_a_place(row):
    assert vin.WEIGHTS[int(row["position"]) - 1] == int(row["weight"])


@pytest.mark.parametrize("row", rows("vin_model_year", "code", "comment"))
def test_years_of_a_code(row):
    first = row["model_year_first_cycle"]
    expected = (int(first), int(row["model_year_second_cycle"])) if first else None
    assert vin.years_of_code(row["code"]) == expected


def test_letter_in_place_seven_means_the_second_cycle():
    """49 CFR 565.15(d)(1)."""
    assert vin.model_year("HE9XR1C48PS083871") == 2023
    assert vin.model_year("HE9XR1148PS083871") == 1993


def test_small_letters_and_blanks_around_do_no_harm():
    assert vin.check_vin(" 1m8gdm9axkp042788 ").passes


def test_strange_characters_are_named():
    assert vin.check_vin("1M8GDM9AIKPO42788").strange == "IO"
