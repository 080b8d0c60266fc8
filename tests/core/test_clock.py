"""Whether a clock has jumped. The cases were worked by hand."""

from datetime import UTC, datetime, timedelta

import pytest

from maintenance.core.clock import LONGEST_OFF, SLACK, Look, in_doubt, jump

THEN = datetime(2026, 5, 4, 12, tzinfo=UTC)
DAY = timedelta(days=1)


def look(wall: timedelta, counted: timedelta, boot: str = "a") -> Look:
    """Later than THEN: by its clock, and as the machine counted."""
    return Look(THEN + wall, boot, counted.total_seconds())


GOOD = look(0 * DAY, 0 * DAY)


@pytest.mark.parametrize(
    ("wall", "counted", "by"),
    [
        (14 * DAY, 14 * DAY, 0 * DAY),  # two weeks asleep
        (400 * DAY, 0 * DAY, 400 * DAY),
        (-400 * DAY, 0 * DAY, -400 * DAY),
        (15 * DAY, 14 * DAY, 0 * DAY),  # a day is no harm
        (16 * DAY, 14 * DAY, 2 * DAY),
        (2 * DAY, 4 * DAY, -2 * DAY),
    ],
)
def test_jump_while_the_machine_runs_then_against_what_it_counted(wall, counted, by):
    assert jump(GOOD, look(wall, counted)) == by


@pytest.mark.parametrize(
    ("wall", "by"),
    [
        (14 * DAY, 0 * DAY),  # two weeks switched off
        (LONGEST_OFF, 0 * DAY),
        (LONGEST_OFF + DAY, LONGEST_OFF + DAY),
        (-SLACK, 0 * DAY),
        (-2 * DAY, -2 * DAY),
    ],
)
@pytest.mark.parametrize("boot", ["b", ""])
def test_jump_across_a_start_then_back_or_longer_than_a_winter(wall, by, boot):
    assert jump(GOOD, look(wall, 0 * DAY, boot)) == by


def test_jump_where_starts_have_no_names_then_as_across_a_start():
    before = look(0 * DAY, 0 * DAY, "")

    assert jump(before, look(20 * DAY, 0 * DAY, "")) == timedelta()


def test_in_doubt_when_the_clock_is_set_right_then_no_more():
    ahead = THEN + 10 * DAY

    assert in_doubt(GOOD, look(10 * DAY, 0 * DAY))
    assert not in_doubt(GOOD, look(DAY, DAY), doubted_at=ahead)


def test_in_doubt_when_the_machine_is_started_again_then_still():
    ahead = THEN + 10 * DAY

    assert in_doubt(GOOD, look(11 * DAY, 0 * DAY, "b"), doubted_at=ahead)
    assert not in_doubt(GOOD, look(2 * DAY, 0 * DAY, "b"), doubted_at=ahead)


def test_in_doubt_when_it_was_back_and_caught_up_after_a_start_then_no_more():
    back = THEN - 300 * DAY

    assert in_doubt(GOOD, look(-300 * DAY, DAY, "b"), doubted_at=back)
    assert not in_doubt(GOOD, look(5 * DAY, 0 * DAY, "b"), doubted_at=back)
