"""What a calculator says where a figure is out of its range, old, or too little."""

from datetime import date

import pytest

from maintenance.calculators.subjects import CALCULATORS
from maintenance.calculators.subjects.base import cautions_of
from maintenance.core.calculators.answers import CalculatorError
from tests.calculators.examples import EXAMPLES


def reckoned(key, **typed):
    form = CALCULATORS[key].form(EXAMPLES[key] | typed)
    assert form.is_valid(), form.errors
    return CALCULATORS[key].reckon(form.cleaned_data | {"today": date(2026, 5, 4)})


def told(key, **typed):
    return {str(one.what): one.figure for one in reckoned(key, **typed)}


# 49 CFR 574.5(b)(3): weeks 53 of 2019 and 2020 are none by the US rule; 2017 had one.
@pytest.mark.parametrize(("code", "year"), [("5319", 2019), ("5320", 2020)])
def test_week_53_of_a_year_that_has_none_is_answered_in_words(code, year):
    lines = told("tire_date", tin=code)

    assert lines["Made"] == f"at the end of {year}"
    assert lines["Take care"].startswith(f"{year} has no week 53 by the US rule")


def test_week_53_of_a_year_that_has_one_is_read():
    assert told("tire_date", tin="5317")["Made in the week of"] == (
        "Dec 31, 2017 \N{EN DASH} Jan 6, 2018"
    )


@pytest.mark.parametrize("code", ["0019", "5419", "DOT ABCD EFGH 0019", "0012"])
def test_week_that_never_is_is_refused_at_its_field(code):
    form = CALCULATORS["tire_date"].form({"tin": code})

    assert "weeks run from 01 to 53" in form.errors["tin"][0]


def test_three_digits_name_every_decade():
    """64 FR 36807: three digits until July 2000; 031 is week 3 of 1981 or 1991."""
    lines = told("tire_date", tin="031")

    for year in (1981, 1991):
        assert str(year) in lines["Made in the week of"]
    assert "35 years, 3 months" in lines["Age"]
    assert "45 years, 3 months" in lines["Age"]
    assert "the decade isn't on the tire" in lines["Take care"]


def test_week_still_to_come_is_said():
    assert "still to come" in told("tire_date", tin="2026")["Take care"]


def test_vin_of_a_trailer_names_both_years():
    """49 CFR 565.15(b), (d): place 7 need not tell the cycle on trailers."""
    words = told("vin", vin="1G4AH59H45G118341")["Model year"]

    assert words.startswith("2005. On a trailer")
    assert "may be 2035" in words


# ISO 6789-1:2017 (from the lowest mark on); US Army TM 1-1500-204-23-9, table 8-1.
@pytest.mark.parametrize(
    ("torque", "mark", "words"),
    [
        ("25", "30", "outside its range, below its lowest mark"),
        ("25", "", "outside its range, below 20 % of full scale"),
        ("160", "30", "outside its range, above its full scale"),
    ],
)
def test_wrench_says_that_a_figure_is_outside_its_range(torque, mark, words):
    lines = told("torque_wrench", torque=torque, lowest_mark=mark)

    assert words in lines["The wrench"]


def test_wrench_within_its_range_says_so():
    lines = told("torque_wrench", torque="25", lowest_mark="10")

    assert lines["The wrench"] == "Covers the figure, but only at its low end"


# A fluid maker's guide, from memory: 12 % to 20 °F, 30 % to -20 °F.
@pytest.mark.parametrize(
    ("strength", "water", "lowest", "words"),
    [
        ("30", "0", "-20", "pipes are protected"),
        ("30", "0", "-21", "pipes are not protected"),
        ("20", "2", "25", "pipes are not protected; under 12 % it hardly helps"),
        ("0", "0", "31", "pipes are not protected; under 12 % it hardly helps"),
        ("0", "0", "40", "pipes are protected"),
        ("100", "0", "-60", "pipes are protected"),
    ],
)
def test_antifreeze_is_held_against_the_lowest_temperature(
    strength, water, lowest, words
):
    lines = reckoned("antifreeze", strength=strength, water=water, lowest=lowest)

    assert lines[-1].what.startswith(f"At {lowest} °F")
    assert lines[-1].figure == words
    burst = any("Pipes can burst" in text for text in cautions_of(lines))
    assert burst is words.startswith("pipes are not protected")


def test_each_leg_of_a_50_amp_hookup_is_judged_by_itself():
    """P = V · I: 6,000 W a leg; the neutral carries the difference."""
    lines = told("hookup", service="50", running="6100", second="1300")

    assert lines["The first leg"] == "too much: the breaker trips"
    assert lines["The other leg"] == "fits, even for hours"
    assert lines["The neutral carries"] == "40 A"


def test_hookup_of_one_leg_has_no_other():
    with pytest.raises(CalculatorError, match="Only a 50 A hookup"):
        reckoned("hookup", service="30", second="100")


def test_load_at_pressure_takes_the_row_and_is_held_against_the_scale():
    lines = reckoned("tire_table_load", cold="69 psi", weight="2500 lb")

    assert [one.figure.partition(" (")[0] for one in lines] == ["2,335 lb", "165 lb"]
    assert lines[1].what == "Too heavy by"
    assert any("don't drive on it" in text for text in cautions_of(lines))


@pytest.mark.parametrize("table", ["65", "psi lb", "65 psi 2335 psi", "65 psi - lb"])
def test_row_that_is_none_is_refused_at_its_field(table):
    form = CALCULATORS["tire_table_load"].form({"cold": "70", "table": table})

    assert "isn't a row" in form.errors["table"][0]


def test_table_may_be_metric():
    lines = told("tire_table_load", cold="4.5 bar", table="4.5 bar 1060 kg", weight="")

    assert "1,060 kg" in lines["One tire carries"]


def test_car_tire_carries_less_on_a_trailer():
    """49 CFR 571.120 S5.1.2: LI 97, 730 kg ÷ 1.10 = 663.6 kg."""
    lines = reckoned("tire_load", service="97V", passenger="on", tires="4", rating="")

    assert lines[0].figure.startswith("664 kg")
    assert "÷ 1.10" in lines[0].formula
    assert lines[1].figure.startswith("2,655 kg")  # four: 2,654.5 kg


def test_long_thin_wire_is_too_much():
    lines = told("voltage_drop", load="20", length="30 ft", gauge="14", volts="12")

    assert "use a thicker or a shorter wire" in lines["That is"]


# Published: federal steps for the load limit, an owner's manual.
@pytest.mark.parametrize("own", ["150,180,160,140,120", "150 lb, 180 lb; 160 140 120"])
def test_people_may_each_have_a_weight_of_their_own(own):
    lines = told("cargo_people", placard="1500 lb", own=own)

    assert lines["Left for cargo"].startswith("750 lb")


@pytest.mark.parametrize("own", ["heavy", "150, -20", "150, x"])
def test_weight_that_is_none_is_refused_at_its_field(own):
    form = CALCULATORS["cargo_people"].form(EXAMPLES["cargo_people"] | {"own": own})
    if form.is_valid():
        with pytest.raises(CalculatorError, match="The weight of a person"):
            CALCULATORS["cargo_people"].reckon(form.cleaned_data)
    else:
        assert list(form.errors) == ["own"]
