"""The table for trying the import: it leaves open what a person has to say."""

from datetime import date

import pytest

from maintenance.exchange.imports.files import source_of_file
from maintenance.exchange.imports.layout import open_questions
from maintenance.exchange.imports.verdicts import judge, layout_of
from maintenance.exchange.services import answer, begin, choose_columns
from maintenance.pages.demo.providing import fixtures
from tests import builders

TODAY = date(2026, 11, 25)
COLUMNS = ["on", "odometer", "what", "doer", "invoice", "labor", "parts", "total"]


@pytest.fixture
def member(db):
    return builders.make_member(role="keeper")


@pytest.fixture
def bringing(member):
    rig = builders.make_rig(member.household, in_service_on=date(2018, 9, 8))
    source = source_of_file("history.csv", (fixtures() / "history.csv").read_bytes())
    made = begin(rig, by=member, source=source)
    choose_columns(made, by=member, columns=dict(enumerate([*COLUMNS, "notes"])))
    return made


def test_history_leaves_the_order_of_its_days_and_the_unit_open(bringing):
    asked = open_questions(layout_of(bringing))

    assert "04/05/2021" in asked.days
    assert asked.unit


def test_history_shows_rows_that_fit_one_in_doubt_and_one_refused(bringing, member):
    answer(
        bringing,
        by=member,
        jobs={},
        day_order="dmy",
        decimal_comma=True,
        distance_unit="mi",
    )

    rows = judge(bringing, today=TODAY).rows
    words = [row.verdict for row in rows]
    assert words.count("refused") == 1
    assert words.count("doubtful") == 1
    assert words.count("good") == len(words) - 2
