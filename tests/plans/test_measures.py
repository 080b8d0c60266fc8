from datetime import date
from decimal import Decimal

import pytest

from maintenance.library.model import Measure
from maintenance.library.reading import load_library
from maintenance.plans.measures import (
    Measured,
    from_data,
    in_words,
    is_outside,
    limit_words,
    limits_of,
    to_data,
    verdict_words,
)
from maintenance.plans.models import MakerValue


def measure(unit="V", low=None, high=None):
    return Measure(
        "value",
        unit,
        low=None if low is None else Decimal(low),
        high=None if high is None else Decimal(high),
    )


def maker(value, unit="V", up_to=None):
    return MakerValue(
        name="value",
        value=Decimal(value),
        unit=unit,
        up_to=None if up_to is None else Decimal(up_to),
    )


def said(value, one, by_maker=None):
    return verdict_words(Decimal(value), limits_of(one, by_maker))


@pytest.mark.parametrize(
    ("value", "one", "words"),
    [
        ("12.39", measure(low="12.4"), "below the 12.4 V limit"),
        ("12.4", measure(low="12.4"), "within the limit"),
        ("41", measure("°F", "34", "40"), "above the 40 °F limit"),
        ("33.9", measure("°F", "34", "40"), "below the 34 °F limit"),
        ("1", measure("1/32 in", low="2"), "below the 2/32 in limit"),
        ("3", measure("psi/min", high="2"), "above the 2 psi/min limit"),
        ("0.126", measure("in", "0", "0.125"), "above the 0.125 in limit"),
        ("5", measure("ppm", "0", "4"), "above the 4 ppm limit"),
        ("7", measure(), ""),
    ],
)
def test_value_is_judged_in_words(value, one, words):
    assert said(value, one) == words


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("12.4", None, "at least 12.4 V"),
        (None, "14", "at most 14 V"),
        ("12.4", "13.2", "12.4 to 13.2 V"),
        (None, None, ""),
    ],
)
def test_limits_in_words(low, high, words):
    assert limit_words(limits_of(measure(low=low, high=high), None)) == words


@pytest.mark.parametrize(
    ("one", "book", "words"),
    [
        (
            measure(low="12.4"),
            maker("12.6"),
            "at least 12.6 V by the manufacturer's manual",
        ),
        (
            measure(high="14"),
            maker("13.5"),
            "at most 13.5 V by the manufacturer's manual",
        ),
        (
            measure(low="12.4", high="13.2"),
            maker("12.6", up_to="13"),
            "12.6 to 13 V by the manufacturer's manual",
        ),
        (measure(), maker("12", up_to="13"), "12 to 13 V by the manufacturer's manual"),
        # a single figure says neither least nor most where the library has no side
        (measure(low="12.4", high="13.2"), maker("12.8"), "12.4 to 13.2 V"),
        (measure(), maker("12.8"), ""),
        # of another kind
        (measure(low="12.4"), maker("30", "psi"), "at least 12.4 V"),
    ],
)
def test_makers_figure_wins_where_it_is_a_limit(one, book, words):
    assert limit_words(limits_of(one, book)) == words


def test_makers_figure_in_another_unit_is_converted():
    # 3 bar = 43.5 psi (NIST SP 811: 1 psi = 6.894757 kPa)
    assert said("43", measure("psi", low="30"), maker("3", "bar")).startswith("below")
    assert said("44", measure("psi", low="30"), maker("3", "bar")) == "within the limit"


def test_tread_below_the_law_is_outside():
    # 49 CFR 393.75(c): at least 2/32 inch on wheels that do not steer.
    tread = load_library().procedures["tire_condition"].measures[0]

    assert is_outside(Decimal(1), limits_of(tread, None))
    assert not is_outside(Decimal(2), limits_of(tread, None))


VALUES = [
    Measured("tread", Decimal(6), "1/32 in", "LF"),
    Measured("tread", Decimal("5.5"), "1/32 in", "RF"),
    Measured("rested voltage", Decimal("12.65"), "V"),
    Measured("axle weight", Decimal(10_000), "lb", "Front axle"),
    Measured("expires on", date(2027, 6, 30), "date"),
]


def test_values_survive_as_data():
    assert from_data(to_data(VALUES)) == VALUES


def test_data_is_plain_text():
    assert to_data(VALUES)[3:] == [
        {"name": "axle weight", "value": "10000", "unit": "lb", "place": "Front axle"},
        {"name": "expires on", "value": "2027-06-30", "unit": "date"},
    ]


def test_values_in_words_by_what_was_measured():
    assert in_words(VALUES) == [
        "tread: LF 6/32 in, RF 5.5/32 in",
        "rested voltage: 12.65 V",
        "axle weight: Front axle 10,000 lb",
        "expires on: Jun 30, 2027",
    ]
