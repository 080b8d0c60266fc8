"""A figure that cannot be is refused beside its own field, in the unit of its label."""

from datetime import date

import pytest

from maintenance.calculators.fields import CountField, FigureField
from maintenance.calculators.subjects import CALCULATORS
from maintenance.core.calculators.answers import CalculatorError
from tests.calculators.examples import EXAMPLES

FIGURES = [
    (key, name)
    for key, one in CALCULATORS.items()
    for name, field in one.form.base_fields.items()
    if isinstance(field, FigureField | CountField)
]


def filled(key, metric=False, **typed):
    """The form after reckoning, and what it came to."""
    form = CALCULATORS[key].form(EXAMPLES[key] | typed, metric=metric)
    if not form.is_valid():
        return form, None
    try:
        lines = CALCULATORS[key].reckon(form.cleaned_data | {"today": date(2026, 5, 4)})
    except CalculatorError as error:
        form.refuse(error)
        return form, None
    return form, lines


def test_every_calculator_has_an_example():
    assert set(EXAMPLES) == set(CALCULATORS)


@pytest.mark.parametrize("key", CALCULATORS)
def test_example_is_answered(key):
    form, lines = filled(key)

    assert not form.errors
    assert lines


@pytest.mark.parametrize(("key", "name"), FIGURES)
@pytest.mark.parametrize("figure", ["-90000", "90000000"])
def test_refusal_stands_at_the_field_that_it_is_about(key, name, figure):
    typed = {name: figure}
    if name == "grains":
        typed["mg_l"] = ""

    form, _lines = filled(key, **typed)

    assert list(form.errors) == [name]


def test_percent_are_refused_in_percent():
    form, _lines = filled("propane_hours", duty="130")

    assert form.errors["duty"] == ["The duty must be 0.1 to 100."]


def test_metric_household_is_told_the_range_in_the_unit_of_the_label():
    form, _lines = filled("tire_warning", metric=True, cold="80")

    assert form.errors["cold"] == ["The pressure must be 0.07 to 13.79 bar."]


def test_first_value_of_a_metric_household_is_metric():
    form = CALCULATORS["antifreeze"].form(metric=True)

    assert form["heater"].initial == "23 L"  # 6 gal, 22.7 L


def test_bare_temperature_is_fahrenheit_where_miles_are_counted():
    _form, bare = filled("trap_dry_out", temperature="68", seal="2")
    _form, named = filled("trap_dry_out", temperature="20 °C", seal="50.8 mm")

    assert bare == named


def test_lever_takes_both_arms_from_the_tongue():
    """Published factors: 150 lb with arms of 1 ft and 3 ft is 600 lb."""
    form, lines = filled("tongue_lever", reading="150", short_arm="1", long_arm="3")

    assert lines[0].figure.startswith("600 lb")
    assert str(form.fields["short_arm"].label).startswith("From the tongue")
    assert str(form.fields["long_arm"].label).startswith("From the tongue")


def test_combination_has_left_what_its_rating_allows():
    _form, lines = filled("combined_weight")

    assert lines[1].figure.startswith("1,000 lb")  # 15,000 - 6,800 - 7,200


def test_heavy_combination_is_told_by_how_much_and_that_it_is_not_fit():
    _form, lines = filled("combined_weight", towed="8500 lb")

    assert (lines[1].what, lines[1].figure[:6]) == ("Over the rating by", "300 lb")
    assert "not fit to travel" in " ".join(lines[1].cautions)


def test_tongue_is_judged_by_the_class_of_the_trailer():
    """A published table of SAE J684: 15 % of a trailer from 3,500 to 10,000 lb."""
    _form, lines = filled("hitch_tongue")

    assert lines[0].figure.startswith("1,080 lb")
    assert lines[1].what == "Too heavy by"


def test_pressure_stands_in_both_metric_units_too():
    _form, lines = filled("tire_warning", cold="80 psi")

    assert lines[0].figure == "60 psi (413.7 kPa, 4.14 bar)"  # 1 bar = 14.5038 psi


def test_round_figure_is_not_told_to_a_tenth_in_the_other_unit():
    _form, lines = filled("tongue_weight")

    assert lines[0].figure == "7,200 lb (3,266 kg)"
