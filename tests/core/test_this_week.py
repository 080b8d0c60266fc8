"""What is chosen for this week: worked weeks, and what holds for every one."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.this_week import (
    DUE,
    OVERDUE,
    ROWS,
    SAFETY_DUE,
    SAFETY_OVERDUE,
    SAFETY_UNKNOWN,
    SOON,
    UNKNOWN,
    Candidate,
    this_week,
)

TODAY = date(2026, 11, 30)
WAIT = timedelta(days=21)


def job(key, rank, *, rig="Bramble", in_days=None, opens=None, **told):
    safety = told.pop("safety", rank in {SAFETY_OVERDUE, SAFETY_DUE, SAFETY_UNKNOWN})
    return Candidate(
        key=key,
        rig=rig,
        rank=rank,
        safety=safety,
        opens=None if opens is None else TODAY + timedelta(days=opens),
        closes=None if in_days is None else TODAY + timedelta(days=in_days),
        shop=told.pop("shop", False),
        minutes=told.pop("minutes", 15),
        **told,
    )


def chosen(*jobs):
    return this_week(jobs, today=TODAY, shop_wait=WAIT)


def keys(week):
    return [[one.key for one in row.jobs] for row in week.rows]


def test_order_of_the_rows_is_that_of_due():
    """design.md 4.3: overdue safety, other overdue, due safety, safety without a
    record, due, other without a record, coming."""
    jobs = [
        job("soon", SOON, rig="a", opens=3),
        job("unknown", UNKNOWN, rig="b"),
        job("due", DUE, rig="c", in_days=2),
        job("safety unknown", SAFETY_UNKNOWN, rig="d"),
        job("safety due", SAFETY_DUE, rig="e", in_days=40),
        job("overdue", OVERDUE, rig="f"),
        job("safety overdue", SAFETY_OVERDUE, rig="g"),
    ]

    assert [row.rank for row in chosen(*jobs).rows] == [1, 2, 3, 4, 5, 6, 7]


def test_jobs_of_one_rig_and_rank_are_one_row():
    week = chosen(
        job("look around", DUE, in_days=3, minutes=30),
        job("charge", DUE, in_days=3, minutes=15),
        job("traps", DUE, in_days=3, minutes=5),
        job("visit the car", DUE, in_days=3, rig="Thimble"),
    )

    assert keys(week) == [["look around", "charge", "traps"], ["visit the car"]]
    assert week.rows[0].minutes == 50


def test_a_shop_and_the_owner_never_share_a_row():
    week = chosen(job("mine", OVERDUE), job("its", OVERDUE, shop=True))

    assert keys(week) == [["mine"], ["its"]]
    assert [row.minutes for row in week.rows] == [15, 0]


def test_all_that_has_no_record_is_one_row_a_rig_and_below_known_danger():
    week = chosen(
        *(job(n, SAFETY_UNKNOWN) for n in range(40)),
        *(job(n, UNKNOWN) for n in range(40, 80)),
        job("brakes", SAFETY_DUE, in_days=1),
        job("other rig", UNKNOWN, rig="Mule"),
    )

    assert [len(row.jobs) for row in week.rows] == [1, 80, 1]
    assert week.rows[0].jobs[0].key == "brakes"


def test_a_shop_is_called_while_its_wait_and_a_week_still_reach():
    assert keys(chosen(job("call", SOON, shop=True, in_days=28))) == [["call"]]
    assert not chosen(job("later", SOON, shop=True, in_days=29, opens=20)).rows


def test_what_is_booked_stands_in_the_week_of_its_day():
    booked = TODAY + timedelta(days=9)
    assert not chosen(job("b", DUE, shop=True, in_days=2, booked=booked)).rows
    soon = TODAY + timedelta(days=4)
    [row] = chosen(job("b", DUE, shop=True, in_days=2, booked=soon)).rows
    assert row.booked == soon


@pytest.mark.parametrize(
    ("one", "is_in"),
    [
        (job("d", DUE, in_days=7), True),
        (job("d", DUE, in_days=8), False),
        (job("d", DUE), True),  # no day can be told
        (job("s", SOON, opens=7, in_days=30), True),
        (job("s", SOON, opens=8, in_days=30), False),
        (job("s", SOON), False),
        (job("s", SAFETY_DUE, in_days=60), True),
    ],
)
def test_who_belongs_to_the_week(one, is_in):
    assert bool(chosen(one).rows) is is_in


def test_safety_without_room_is_counted_in_the_eighth_row():
    rigs = [str(n) for n in range(9)]
    week = chosen(
        *(job(f"o{rig}", SAFETY_OVERDUE, rig=rig) for rig in rigs),
        *(job(f"n{rig}", OVERDUE, rig=rig) for rig in rigs),
        *(job(f"d{rig}", SAFETY_DUE, rig=rig) for rig in rigs[:4]),
    )

    assert len(week.rows) == ROWS
    assert week.counted == {SAFETY_OVERDUE: 2, SAFETY_DUE: 4}


# --- what holds for every week ------------------------------------


@st.composite
def weeks(draw):
    def one(n):
        rank = draw(st.integers(SAFETY_OVERDUE, SOON))
        return job(
            n,
            rank,
            rig=draw(st.sampled_from("abcde")),
            in_days=draw(st.none() | st.integers(-30, 60)),
            opens=draw(st.none() | st.integers(-60, 30)),
            shop=draw(st.booleans()),
            safety=draw(st.booleans())
            if rank == SOON
            else rank in {SAFETY_OVERDUE, SAFETY_DUE, SAFETY_UNKNOWN},
            booked=draw(
                st.none() | st.dates(TODAY, TODAY + timedelta(days=30)),
            ),
        )

    made = [one(n) for n in range(draw(st.integers(0, 24)))]
    return sorted(made, key=lambda x: (x.rank, x.closes or date.max))


@given(weeks())
def test_no_safety_job_is_hidden_and_each_job_is_somewhere_once(jobs):
    week = chosen(*jobs)

    shown = [one for row in week.rows for one in row.jobs]
    placed = [*shown, *week.more, *week.later]
    assert sorted(x.key for x in placed) == sorted(x.key for x in jobs)
    # Safety that is left to later is only what no rule brings into the week.
    for one in week.later:
        if one.safety and one.booked is None:
            assert one.rank == SOON
    assert len(week.rows) <= ROWS


@given(weeks())
def test_rows_are_in_the_order_of_a_plain_sort(jobs):
    """Against sorting every row there could be by rank, then by its first job."""
    week = chosen(*jobs)
    place = {one.key: n for n, one in enumerate(jobs)}

    order = [(row.rank, min(place[x.key] for x in row.jobs)) for row in week.rows]
    ranks = [rank for rank, _place in order]
    assert ranks == sorted(ranks)
    for row in week.rows:
        assert len({x.rig for x in row.jobs}) == 1
        if not row.unknown:
            assert len({(x.rank, x.shop, x.booked) for x in row.jobs}) == 1


@given(weeks())
def test_what_found_no_room_is_not_more_urgent_than_what_did(jobs):
    week = chosen(*jobs)

    if week.more and week.rows:
        last = max(row.rank for row in week.rows)
        unknown_rigs = {row.jobs[0].rig for row in week.rows if row.unknown}
        for one in week.more:
            assert one.rank >= last or (one.unknown and one.rig not in unknown_rigs)
