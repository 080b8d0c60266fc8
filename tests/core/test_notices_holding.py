"""How far a reminder may be moved: never what touches safety past its window."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.facts import Standing, Window
from maintenance.core.notices import LONGEST_HOLD, ItemNow, longest_hold

TODAY = date(2026, 5, 4)
DAY = timedelta(days=1)


def item(closes: int | None, *, safety: bool = True, standing: str = "due") -> ItemNow:
    window = None if closes is None else Window(TODAY, TODAY + closes * DAY)
    found = Standing(
        key="x",
        standing=standing,
        governing="every_time" if window else None,
        expected=False,
        window=window,
        pending=(),
        forecast=None,
    )
    return ItemNow(item=1, rig=1, standing=found, safety=safety)


@pytest.mark.parametrize(
    ("closes", "days"),
    [(30, 3), (4, 3), (3, 3), (2, 2), (1, 1), (0, 1), (-1, 1), (-90, 1), (None, 1)],
)
def test_longest_hold_of_a_safety_item_then_three_days_or_its_window(closes, days):
    assert longest_hold(item(closes), as_of=TODAY) == days


def test_longest_hold_of_a_safety_item_with_no_day_that_only_comes_then_three_days():
    assert longest_hold(item(None, standing="soon"), as_of=TODAY) == 3


@given(st.integers(-400, 400) | st.none(), st.booleans())
def test_longest_hold_is_at_least_a_day_and_never_far(closes, safety):
    days = longest_hold(item(closes, safety=safety), as_of=TODAY)

    assert 1 <= days <= LONGEST_HOLD
    if safety:
        assert days <= 3
