"""The lane of a rig: single windows, or a block for each closing week."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.lanes import CROWD, MOST, Span, lane_of, week_begin

TODAY = date(2026, 11, 30)  # a Monday
LAST = TODAY + timedelta(days=60)
SUNDAY = 6


def span(name, opens, closes, **told):
    return Span(
        name, TODAY + timedelta(days=opens), TODAY + timedelta(days=closes), **told
    )


def lane(*spans):
    return lane_of(spans, today=TODAY, last=LAST, first_weekday=SUNDAY)


def test_three_windows_stay_windows_the_longest_below():
    made = lane(span("a", 0, 3), span("b", 0, 30), span("c", 10, 20))

    assert [one.name for one in made.windows] == ["b", "c", "a"]
    assert made.blocks == ()


def test_a_fourth_within_four_weeks_makes_blocks_by_closing_week():
    made = lane(
        span("now", 0, 2, safety=True),
        span("a", 0, 8),
        span("b", 0, 9, shop=True),
        span("c", 0, 27, shop=True),
    )

    assert made.windows == ()
    # Weeks begin on Sunday: Nov 29, Dec 6, Dec 27.
    assert [one.begins for one in made.blocks] == [
        date(2026, 11, 29),
        date(2026, 12, 6),
        date(2026, 12, 27),
    ]
    assert [one.names for one in made.blocks] == [("now",), ("a", "b"), ("c",)]
    assert [one.now for one in made.blocks] == [True, False, False]
    assert [one.safety for one in made.blocks] == [True, False, False]
    assert [one.shop for one in made.blocks] == [False, False, True]


def test_four_that_close_over_more_than_four_weeks_stay_windows():
    assert lane(*(span(n, 0, days) for n, days in enumerate((0, 10, 20, 28)))).windows


def test_what_closed_is_overdue_and_what_opens_later_than_shown_is_left_out():
    made = lane(span("late", -40, -2), span("far", 61, 90), span("long", 20, 90))

    assert made.overdue == ("late",)
    assert [one.name for one in made.windows] == ["long"]


days = st.integers(-30, 90)


@given(st.lists(st.tuples(days, st.integers(0, 60)), max_size=20))
def test_every_window_is_drawn_once_or_in_one_block(pairs):
    spans = [span(str(n), opens, opens + more) for n, (opens, more) in enumerate(pairs)]

    made = lane(*spans)

    inside = [one for one in spans if one.closes >= TODAY and one.opens <= LAST]
    closing = sorted(one.closes for one in inside if one.closes <= LAST)
    # By trying every run of four weeks.
    crowded = any(
        sum(day <= one < day + CROWD for one in closing) > MOST for day in closing
    )
    assert bool(made.blocks) == crowded
    if crowded:
        named = [name for block in made.blocks for name in block.names]
        assert sorted(named) == sorted(x.name for x in inside if x.closes <= LAST)
        for block in made.blocks:
            assert block.begins == week_begin(block.begins, SUNDAY)
    else:
        assert sorted(x.name for x in made.windows) == sorted(x.name for x in inside)
