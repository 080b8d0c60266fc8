"""Standing marks, badges, figures and days as pages show them."""

from datetime import date
from decimal import Decimal
from typing import get_args

import pytest
from django.template import Context, Template

from maintenance.core.facts import StandingName
from maintenance.ui.templatetags import ui

STANDINGS = get_args(StandingName)


def rendered(text: str, **context: object) -> str:
    return Template("{% load ui %}" + text).render(Context(context))


def test_words_of_standings_are_those_of_the_design():
    # design.md 2: "on pages Overdue, Due, Coming, Later, Waiting, No record yet,
    # Finished", in the order of the names before it.
    names = ("overdue", "due", "soon", "later", "waiting", "unknown", "settled")
    words = [ui.standing_word(name) for name in names]
    assert words == [
        "Overdue",
        "Due",
        "Coming",
        "Later",
        "Waiting",
        "No record yet",
        "Finished",
    ]


def test_every_standing_of_the_core_has_a_word():
    assert set(ui.STANDING_WORDS) == set(STANDINGS)


@pytest.mark.parametrize("standing", STANDINGS)
def test_standing_mark_shows_shape_and_word(standing):
    html = rendered("{% standing_mark standing %}", standing=standing)
    assert f'marks.svg#{standing}"></use></svg>{ui.STANDING_WORDS[standing]}' in html
    assert 'aria-hidden="true"' in html


def test_standing_mark_of_no_standing_fails_loudly():
    with pytest.raises(KeyError, match="green"):
        rendered("{% standing_mark 'green' %}")


@pytest.mark.parametrize("kind", ["unfit", "safety"])
def test_badge_shows_shape_and_word(kind):
    html = rendered("{% badge kind %}", kind=kind)
    assert f'marks.svg#{kind}"></use></svg>{ui.BADGE_WORDS[kind]}<' in html


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (Decimal(42310), "mi", "42,310\u00a0mi"),
        (Decimal("42310.0"), "mi", "42,310\u00a0mi"),
        (Decimal("42310.4"), "km", "42,310.4\u00a0km"),
        (Decimal("0.25"), "h", "0.3\u00a0h"),
        (Decimal("-0.04"), "mi", "0\u00a0mi"),
        (Decimal("4.231E+4"), "mi", "42,310\u00a0mi"),
        (12, "", "12"),
        (0, "mi", "0\u00a0mi"),
        (None, "mi", ""),
    ],
)
def test_measure_has_thousands_and_a_tenth_only_where_it_says_something(
    value, unit, shown
):
    assert ui.measure(value, unit) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (date(2026, 5, 1), "May 1, 2026"),
        (date(2026, 9, 12), "Sep 12, 2026"),
        (None, ""),
    ],
)
def test_day_keeps_its_year(value, shown):
    assert ui.day(value) == shown


@pytest.mark.parametrize(
    ("stored", "shown"), [("03-15", "Mar 15"), ("09-05", "Sep 5"), ("02-29", "Feb 29")]
)
def test_day_of_every_year_is_written_as_people_do(stored, shown):
    assert rendered("{{ stored|month_day }}", stored=stored) == shown
