"""Requalification of cylinders against 49 CFR 180.209 and 180.213."""

from datetime import date

import pytest

from maintenance.core.calculators import cylinders
from maintenance.core.dates import month_end

from .vectors import rows

MARKS = {
    "none (original test date only)": "new",
    "date + RIN, no letter": "volumetric",
    "date + S": "S",
    "date + E": "E",
}


def month(text: str) -> date:
    return date.fromisoformat(f"{text}-01")


@pytest.mark.parametrize(
    "row", rows("cylinder_requalification", "last_marking", "method")
)
def test_years_of_a_mark(row):
    made, marked = month("2010-03"), month("2022-06")
    name = row["last_marking"]
    if name == "ASME data plate":
        assert row["years_to_next_current_rule"].startswith("no date")
        assert cylinders.requalification("asme", made) is None
        return
    years = int(row["years_to_next_current_rule"])
    mark = MARKS[name]
    found = cylinders.requalification(
        "dot", made, mark=mark, marked=None if mark == "new" else marked
    )
    start = made if mark == "new" else marked
    assert (found.years, found.start) == (years, start)
    assert found.due == month_end(start.replace(year=start.year + years))


@pytest.mark.parametrize(
    ("made", "mark", "marked", "due"),
    [
        pytest.param("2019-05", "new", None, "2031-05-31", id="D1 180.209(e)"),
        pytest.param("2010-03", "E", "2022-06", "2027-06-30", id="D2 180.209(g)"),
        pytest.param("2008-03", "S", "2020-04", "2030-04-30", id="D3 180.209(e)"),
        pytest.param(
            "2008-03", "volumetric", "2020-04", "2032-04-30", id="D4 180.209(e)"
        ),
    ],
)
def test_due_month(made, mark, marked, due):
    found = cylinders.requalification(
        "dot", month(made), mark=mark, marked=month(marked) if marked else None
    )
    assert found.due == date.fromisoformat(due)


def test_asme_tank_has_no_date():
    """D5: 49 CFR 180.209 is about cylinders, not tanks."""
    assert cylinders.requalification("asme", month("2015-01")) is None


def test_a_mark_needs_its_month_and_follows_manufacture():
    with pytest.raises(ValueError, match="month"):
        cylinders.requalification("dot", month("2015-01"), mark="S")
    with pytest.raises(ValueError, match="older"):
        cylinders.requalification(
            "dot", month("2015-01"), mark="S", marked=month("2014-12")
        )
