"""Extinguishers against 29 CFR 1910.157 and NFPA 10."""

from datetime import date

import pytest

from maintenance.core.calculators import extinguishers
from maintenance.core.calculators.extinguishers import Dates

from .vectors import rows

KINDS = {rules.words: rules for rules in extinguishers.KINDS.values()}
ROWS = rows("fire_extinguisher_hydrostatic", "type", "source")


def month(text: str) -> date:
    return date.fromisoformat(f"{text}-01")


@pytest.mark.parametrize("row", ROWS)
def test_rules_of_a_kind(row):
    rules = KINDS[row["type"]]
    interval = row["hydrostatic_interval_years"]
    if interval.isdigit():
        assert rules.test_years == int(interval)
    elif interval.startswith("none"):
        assert (rules.test_years, rules.remove_years) == (None, 12)
    else:
        assert (rules.test_years, rules.obsolete) == (None, date(1982, 1, 1))
    assert rules.six_year is row["six_year_internal_exam"].startswith("yes")
    assert ("memory" in rules.source) is (row["how_known"] == "memory")


def test_no_kind_is_ours_alone():
    assert len(KINDS) == len(ROWS) == len(extinguishers.KINDS)


@pytest.mark.parametrize(
    ("kind", "dates", "expected"),
    [
        pytest.param(
            "dry_stored",
            {"made": "2020-03"},
            Dates(date(2026, 3, 31), date(2032, 3, 31), None),
            id="E1 1910.157(e)(4), Table L-1",
        ),
        pytest.param(
            "dry_stored",
            {"made": "2020-03", "recharged": "2025-07"},
            Dates(date(2031, 7, 31), date(2032, 3, 31), None),
            id="E2 the six years restart at recharge",
        ),
        pytest.param(
            "carbon_dioxide",
            {"made": "2021-05"},
            Dates(None, date(2026, 5, 31), None),
            id="E3 Table L-1",
        ),
        pytest.param(
            "disposable",
            {"made": "2015-09"},
            Dates(None, None, date(2027, 9, 30)),
            id="E4 NFPA 10-2018 7.3.6.3",
        ),
        pytest.param(
            "dry_stainless",
            {"made": "2017-02", "tested": "2022-02"},
            Dates(None, date(2027, 2, 28), None),
            id="E5 Table L-1",
        ),
    ],
)
def test_dates(kind, dates, expected):
    given = {name: month(text) for name, text in dates.items()}
    assert extinguishers.dates_of(kind, **given) == expected


@pytest.mark.parametrize(
    ("last", "expected"),
    [
        pytest.param("2026-01-31", "2026-02-28", id="E6 NFPA 10-2018 7.2.1.2"),
        pytest.param("2026-04-01", "2026-05-02", id="31 days are tighter, 7.2.1.2.1"),
    ],
)
def test_next_monthly_look(last, expected):
    found = extinguishers.next_look(date.fromisoformat(last))
    assert found == date.fromisoformat(expected)


def test_next_yearly_maintenance():
    """E7: 29 CFR 1910.157(e)(3)."""
    assert extinguishers.next_yearly(date(2025, 11, 14)) == date(2026, 11, 14)
