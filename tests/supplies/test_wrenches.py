"""What is said of a torque wrench; the arithmetic itself is tested with the core."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.supplies.models import Tool
from maintenance.supplies.wrenches import calibration_words, judge_for_lugs, range_words
from tests.builders import TODAY


def wrench(**changed):
    fields = {
        "kind": "torque_wrench",
        "name": "Click wrench",
        "drive": "1/2",
        "unit": "ft·lbf",
        "lowest_mark": Decimal(25),
        "full_scale": Decimal(150),
        "calibrated_on": date(2026, 1, 15),
    }
    return Tool(**fields | changed)


def said(tool, figure=None, unit="ft·lbf"):
    return " ".join(
        judge_for_lugs(tool, TODAY, figure and Decimal(figure), unit).sentences
    )


def test_wrench_that_covers_the_figure_fits():
    verdict = judge_for_lugs(wrench(), TODAY, Decimal(110), "ft·lbf")

    assert (verdict.fits, verdict.trusted) == (True, True)
    assert verdict.sentences == (
        "110 ft·lbf is in the best part of its scale.",
        "Calibrated; good until Jan 15, 2027 or another 5,000 clicks.",
    )


def test_without_a_figure_a_good_wrench_is_not_judged_yet():
    assert judge_for_lugs(wrench(), TODAY).fits is None


# Common practice: half-inch drive, at least 125 ft·lbf, and covering the figure; 125 is
# only the floor.
@pytest.mark.parametrize(
    ("changed", "figure", "words"),
    [
        ({"drive": "3/8"}, 110, "Its drive is 3/8 in"),
        ({"drive": ""}, 110, "Its drive isn't entered"),
        ({"full_scale": Decimal(100)}, 90, "It ends at 100 ft·lbf"),
        ({"full_scale": Decimal(100)}, None, "at least 125 ft·lbf"),
        ({}, 160, "160 ft·lbf is outside its range (25 to 150 ft·lbf)"),
        ({"full_scale": Decimal(250)}, 20, "20 ft·lbf is outside its range"),
        ({"lowest_mark": None}, 28, "lowest fifth of its scale, below 30 ft·lbf"),
    ],
)
def test_wrench_that_does_not_fit_says_why(changed, figure, words):
    tool = wrench(**changed)

    verdict = judge_for_lugs(tool, TODAY, figure and Decimal(figure), "ft·lbf")

    assert verdict.fits is False
    assert words in " ".join(verdict.sentences)


def test_figure_in_newton_meters_is_said_in_the_unit_of_the_wrench():
    # NIST SP 811 (2008): 1 ft·lbf = 1.355818 N·m
    assert "99.6 ft·lbf is in" in said(wrench(), 135, "N·m")


def test_reach_of_a_wrench_in_newton_meters_is_compared_with_the_floor():
    # 169.5 N·m = 125.02 ft·lbf, 169 N·m = 124.65 ft·lbf
    metric = {"unit": "N·m", "lowest_mark": None}
    assert "ends at" not in said(wrench(full_scale=Decimal("169.5"), **metric))
    assert "ends at 169 N·m" in said(wrench(full_scale=Decimal(169), **metric))


# ISO 6789: 12 months or 5,000 cycles, whichever comes first; at once after a mishap.
@pytest.mark.parametrize(
    ("changed", "trusted", "words"),
    [
        ({"calibrated_on": date(2025, 5, 5)}, True, "good until May 5, 2026"),
        ({"calibrated_on": date(2025, 5, 4)}, False, "ran out on May 4, 2026"),
        ({"cycles": 4999}, True, "another 1 click."),
        ({"cycles": 5000}, False, "5,000 clicks"),
        ({"mishap": True}, False, "ropped or overloaded"),
        ({"calibrated_on": None}, False, "t known"),
    ],
)
def test_calibration_says_whether_and_why(changed, trusted, words):
    found, sentence = calibration_words(wrench(**changed), TODAY)

    assert found is trusted
    assert words in sentence


def test_range_without_a_lowest_mark():
    assert range_words(wrench(lowest_mark=None)) == "up to 150 ft·lbf"
