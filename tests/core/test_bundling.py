"""Bundling: the fewest sittings, proved against trying every choice of days."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.bundling import Job, bundle

TODAY = date(2026, 5, 4)


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


def job(key, opens, closes, **more) -> Job:
    return Job(key, day(opens), day(closes), **more)


def keys(session):
    return [job.key for job in session.jobs]


def fewest(jobs) -> int:
    """By trying everything: some best choice has every day on the end of a window."""
    spans = [(max(j.opens, TODAY), max(j.closes, TODAY)) for j in jobs]
    ends = sorted({closes for _, closes in spans})
    return next(
        n
        for n in range(len(ends) + 1)
        for days in combinations(ends, n)
        if all(any(a <= d <= b for d in days) for a, b in spans)
    )


windows = st.lists(
    st.tuples(
        st.integers(-10, 30), st.integers(0, 12), st.sets(st.sampled_from("abc"))
    ),
    max_size=8,
)


def made_of(rows):
    return [
        job(n, opens, opens + length, shares=frozenset(shares))
        for n, (opens, length, shares) in enumerate(rows)
    ]


@given(windows)
def test_sittings_are_as_few_as_can_be(rows):
    jobs = made_of(rows)

    assert len(bundle(jobs, today=TODAY)) == fewest(jobs)


@given(windows)
def test_every_job_is_done_once_and_in_its_window(rows):
    jobs = made_of(rows)
    sessions = bundle(jobs, today=TODAY)

    assert sorted(k for s in sessions for k in keys(s)) == list(range(len(jobs)))
    for session in sessions:
        assert TODAY <= session.opens <= session.closes
        for one in session.jobs:
            assert one.opens <= session.opens
            assert session.closes <= one.closes or one.key in session.late


def test_windows_that_meet_make_one_sitting_with_the_days_they_share():
    (session,) = bundle([job("a", 0, 10), job("b", 5, 20)], today=TODAY)

    assert (session.opens, session.closes) == (day(5), day(10))


def test_windows_apart_make_two():
    found = bundle([job("a", 0, 4), job("b", 5, 9)], today=TODAY)

    assert [keys(session) for session in found] == [["a"], ["b"]]


def test_overdue_job_is_done_on_the_first_day_and_called_late():
    (session,) = bundle([job("a", -30, -10), job("b", -2, 9)], today=TODAY)

    assert (session.opens, session.closes) == (TODAY, TODAY)
    assert session.late == {"a"}


def test_job_with_a_choice_joins_the_one_it_shares_the_wheels_with():
    wheels = frozenset({"wheels"})
    jobs = [
        job("oil", 0, 4),
        job("brakes", 10, 14, shares=wheels),
        job("bearings", 0, 20, shares=wheels),
    ]

    assert [keys(s) for s in bundle(jobs, today=TODAY)] == [
        ["oil"],
        ["brakes", "bearings"],
    ]


def test_shop_work_waits_for_the_shop_and_stays_apart():
    jobs = [job("own", 0, 30), job("shop", 0, 10, shop=True)]
    own, shop = bundle(jobs, today=TODAY, shop_wait=timedelta(days=21))

    assert (own.shop, shop.shop) == (False, True)
    assert (shop.opens, shop.late) == (day(21), {"shop"})


def test_minutes_of_a_sitting_add_up():
    jobs = [job("a", 0, 4, minutes=40), job("b", 0, 4, minutes=25)]

    assert bundle(jobs, today=TODAY)[0].minutes == 65


def test_nothing_to_do_needs_no_sitting():
    assert bundle([], today=TODAY) == ()


def test_window_that_closes_before_it_opens_is_refused():
    with pytest.raises(ValueError, match="oil: closes"):
        bundle([job("oil", 5, 4)], today=TODAY)
