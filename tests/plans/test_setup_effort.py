"""What an item costs a year, to choose by."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.triggers import parse_triggers
from maintenance.library.effort import YearOfUse, times_a_year
from maintenance.plans.effort import effort_in_words, hours_in_words, year_of
from tests import builders

YEAR = YearOfUse(
    {"odometer": "mi", "generator": "h"},
    {"odometer": Decimal(10_000), "generator": Decimal(50)},
    stored_days=150,
    trips=4,
)
OIL = {"every": {"distance": 5000, "unit": "mi", "meter": "odometer"}}
YEARLY = {"every": {"months": 12}}


def times(*rules, year=YEAR):
    return times_a_year(parse_triggers(list(rules), "x"), year)


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        ([YEARLY], 1),
        ([{"every": {"years": 2}}], Decimal("0.5")),
        ([OIL], 2),
        ([OIL, YEARLY], 2),  # whichever comes more often; one change sets both back
        ([{"every": {"hours": 100, "meter": "generator"}}], Decimal("0.5")),
        ([{"season": "spring"}, {"season": "autumn"}, {"storage_entry": {}}], 3),
        ([YEARLY, {"season": "spring"}], 1),
        ([{"storage_entry": {"by_day": 151}}], 0),
        ([{"while_stored": {"days": 30}}], 5),
        ([{"storage_exit": {}}], 1),
        ([{"before_trip": {}}], 4),
        ([{"life": {"years": 10}}], Decimal("0.1")),
        ([{"after": {"event": "hail", "days": [0, 1]}}], 0),
        ([], 0),
    ],
)
def test_rules_ask_so_often_a_year(rules, expected):
    assert times(*rules) == expected


def test_days_in_storage_do_not_count_where_the_rule_says_so():
    assert times({"every": {"days": 30}, "clock": "in_use"}) == Decimal("215.25") / 30


def test_rule_in_kilometers_on_a_meter_in_miles_is_converted():
    rule = {"every": {"distance": 8000, "unit": "km", "meter": "odometer"}}

    # 1 mi = 1.609344 km exactly: 10,000 mi are 16,093.44 km.
    assert times(rule) == Decimal("16093.44") / 8000


@pytest.mark.django_db
def test_year_is_that_of_the_rig_s_own_meter():
    rig = builders.make_rig(in_service_on=date(2024, 5, 4))
    builders.make_reading(rig, date(2026, 5, 4), 14012)  # 12 mi when in service

    year, words = year_of(rig, date(2026, 5, 4))

    assert year.counts == {"odometer": Decimal(7000)}
    assert "7,000 mi a year, as so far" in words


@pytest.mark.django_db
def test_year_goes_on_over_a_meter_that_was_replaced():
    rig = builders.make_rig(in_service_on=date(2024, 5, 4))
    meter = rig.meters.get()
    meter.replacements.create(on=date(2025, 5, 4), old_final=10_012, new_start=0)
    builders.make_reading(rig, date(2025, 5, 3), 10_000)
    builders.make_reading(rig, date(2026, 5, 4), 4_000)

    year, _words = year_of(rig, date(2026, 5, 4))

    assert year.counts == {"odometer": Decimal(7000)}


@pytest.mark.django_db
def test_year_is_assumed_and_says_so_where_nothing_is_known():
    rig = builders.make_rig(
        kind="travel_trailer", meter={"kind": "towed", "unit": "km"}
    )

    year, words = year_of(rig, builders.TODAY)

    assert year.counts == {"towed": Decimal(4800)}  # 3,000 mi
    assert "4,800 km a year (assumed)" in words


@pytest.mark.parametrize(
    ("minutes", "often", "on_event", "words"),
    [
        (10, "4", False, "10 minutes, 4 times a year"),
        (60, "1", False, "60 minutes, once a year"),
        (60, "0.34", False, "60 minutes, every 3 years"),
        (20, "0", True, "20 minutes each time it happens"),
        (1, "0", False, "1 minute when needed"),
    ],
)
def test_effort_is_said_plainly(minutes, often, on_event, words):
    assert effort_in_words(minutes, Decimal(often), on_event=on_event) == words


@pytest.mark.parametrize(
    ("minutes", "words"), [(55, "55 minutes"), (89, "89 minutes"), (140, "2 hours")]
)
def test_sums_are_as_coarse_as_they_are_meant(minutes, words):
    assert hours_in_words(Decimal(minutes)) == words
