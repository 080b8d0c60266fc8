"""The lives of cylinders, alarms and extinguishers against the published ones.

Rows D and E are worked examples: a part, the date on it, and the month it is due. The
years are published; that a month is good to its end is common practice.
"""

import re

import pytest

from maintenance.core.facts import Span
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.life import Life
from tests.library.library_facts import (
    AS_OF,
    cited,
    closes,
    done,
    get,
    life_of,
    month_of,
    proposed,
    reckoned,
    told,
    triggers,
)

# --- propane cylinders: 49 CFR 180.209 ------------------------------------------------


def years_after_mark(letter: str) -> int:
    """The years that the steps give for the letter on a cylinder's latest mark."""
    words = f"the letter {letter} " if letter else "without a letter"
    found = re.search(rf"{words}[^:]*: (\d+) years", told("cylinder_requalification"))
    assert found, letter
    return int(found[1])


@pytest.mark.parametrize(
    ("start", "letter", "due"),
    [
        ("2019-05", "", "2031-05"),  # D1: 180.209(e), first period of 12 years
        ("2022-06", "E", "2027-06"),  # D2: 180.209(g), external look, 5 years
        ("2020-04", "S", "2030-04"),  # D3: 180.209(e), proof pressure, 10 years
        ("2020-04", "", "2032-04"),  # D4: 180.209(e), volumetric expansion, 12 years
    ],
)
def test_cylinder_is_due_by_its_latest_mark(start: str, letter: str, due: str) -> None:
    rules = life_of("cylinder_requalification", start, years_after_mark(letter))

    assert month_of(closes(rules, AS_OF)) == due


def test_cylinder_is_overdue_only_when_its_month_is_over() -> None:
    """Common practice: a stamp names a month, and is good to the end of it."""
    rules = life_of("cylinder_requalification", "2019-05")  # D1

    assert reckoned(rules, "2031-05-31")["standing"] == "due"
    assert reckoned(rules, "2031-06-01")["standing"] == "overdue"


def test_cylinder_with_a_shorter_period_is_warned_of_before_its_date_is_given() -> None:
    """The rule stands at 12 years: too long for a mark with S or E."""
    first = get("cylinder_requalification").cautions[0]

    assert years_after_mark("") == 12
    assert triggers("cylinder_requalification") == (Life(Span(months=144), None),)
    assert "too long for a mark with S or E" in first
    assert "180.209(e)" in cited("cylinder_requalification", "10 years after")
    assert "180.209(g)" in cited("cylinder_requalification", "5 years after")


def test_tank_built_to_the_asme_code_has_no_requalification_date() -> None:
    """D5: it is not a DOT cylinder, so 49 CFR 180.209 gives it no date."""
    found = proposed("propane", "propane_tank")

    assert "cylinder_requalification" not in found
    assert "propane_tank_look" in found
    assert not any(isinstance(one, Life) for one in triggers("propane_tank_look"))
    assert "cylinder_requalification" in proposed("propane", "propane_cylinder")


# --- alarms: NFPA 72 and their makers' labels -----------------------------------------


@pytest.mark.parametrize(
    ("key", "made", "label", "due"),
    [
        ("smoke_alarm_renew", "2016-04", None, "2026-04"),  # D6: NFPA 72, 10 years
        ("propane_alarm_renew", "2021-09", None, "2026-09"),  # D7: 5 where none is said
        ("co_alarm_renew", "2019-09", 7, "2026-09"),  # D8: the label's 7 years
    ],
)
def test_alarm_is_renewed_by_its_date_of_making(
    key: str, made: str, label: int | None, due: str
) -> None:
    assert month_of(closes(life_of(key, made, label), "2026-01-01")) == due
    assert "date of manufacture" in told(key)


def test_label_of_a_carbon_monoxide_alarm_wins_and_five_years_stand_without_one() -> (
    None
):
    """House facts, 1.6: 5 to 10 years by the label; without one, date code + 5."""
    assert triggers("co_alarm_renew") == (Life(Span(months=60), None),)
    assert "a life of 5 to 10 years, set this job to it" in told("co_alarm_renew")


def test_smoke_alarms_are_tested_monthly_nfpa_72() -> None:
    assert EveryTime(Span(days=30), in_use=True) in triggers("smoke_alarm_test")
    assert "NFPA 72" in cited("smoke_alarm_test", "monthly")


# --- extinguishers: 29 CFR 1910.157 and NFPA 10 ---------------------------------------


@pytest.mark.parametrize(
    ("key", "start", "due"),
    [
        # E1: stored-pressure dry chemical, steel, made 2020-03. Table L-1: 12 years.
        ("extinguisher_test_12", "2020-03", "2032-03"),
        # E3: carbon dioxide, made 2021-05. Table L-1: 5 years.
        ("extinguisher_test_5", "2021-05", "2026-05"),
        # E4: not rechargeable, made 2015-09. NFPA 10 (2018), 7.3.6.3: 12 years.
        ("extinguisher_replace", "2015-09", "2027-09"),
        # E5: dry chemical, stainless shell, tested 2022-02. Table L-1: 5 years.
        ("extinguisher_test_5", "2022-02", "2027-02"),
    ],
)
def test_extinguisher_is_tested_or_goes_by_its_kind(
    key: str, start: str, due: str
) -> None:
    assert month_of(closes(life_of(key, start), "2026-01-01")) == due


@pytest.mark.parametrize(
    ("key", "last", "as_of", "due"),
    [
        # E1: made 2020-03; 1910.157(e)(4), six years.
        ("extinguisher_six_year", "2020-03-31", "2025-01-01", "2026-03-31"),
        # E2: emptied and recharged 2025-07; the six years start anew.
        ("extinguisher_six_year", "2025-07-31", "2026-01-01", "2031-07-31"),
        # E6: NFPA 10 (2018), 7.2.1.2: in each calendar month, tighter than 31 days.
        ("extinguisher_look", "2026-01-31", "2026-02-01", "2026-02-28"),
        # E7: 1910.157(e)(3), yearly.
        ("extinguisher_yearly", "2025-11-14", "2026-01-01", "2026-11-14"),
    ],
)
def test_extinguisher_is_looked_at_and_serviced_in_time(
    key: str, last: str, as_of: str, due: str
) -> None:
    assert closes(get(key).triggers, as_of, done=done(last)) == due


def test_recharge_restarts_the_six_years_but_not_the_pressure_test() -> None:
    """E2: 1910.157(e)(4). A pressure test restarts the six years as well."""
    assert get("extinguisher_recharge").renews == ("extinguisher_six_year",)
    assert get("extinguisher_test_12").renews == ("extinguisher_six_year",)


# E3, E4 and the last column of Table L-1: which kind is examined inside, or tested.
@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("extinguisher_rechargeable", {"six_year", "test_12"}),
        ("extinguisher_five_year", {"test_5"}),
        ("extinguisher_disposable", {"replace"}),
    ],
)
def test_each_kind_of_extinguisher_gets_what_the_table_asks(
    kind: str, asked: set[str]
) -> None:
    by_kind = {
        f"extinguisher_{one}" for one in ("six_year", "test_12", "test_5", "replace")
    }

    found = proposed(kind) & by_kind

    assert found == {f"extinguisher_{one}" for one in asked}


# 29 CFR 1910.157(f), Table L-1: kinds that are tested every 5 years.
FIVE_YEARS = ("stainless", "carbon dioxide", "water", "foam")
# The same table: kinds that are tested every 12 years.
TWELVE_YEARS = ("dry chemical", "steel", "brazed brass", "aluminum")


def test_words_name_the_kinds_of_table_l_1() -> None:
    five = get("extinguisher_test_5").title.lower()
    twelve = next(
        step.lower() for step in get("extinguisher_test_12").steps if "12 years" in step
    )

    assert all(kind in five for kind in FIVE_YEARS)
    assert all(kind in twelve for kind in TWELVE_YEARS)
    assert "Table L-1" in cited("extinguisher_test_5", "5 years")
    assert "Table L-1" in cited("extinguisher_test_12", "12 years")
