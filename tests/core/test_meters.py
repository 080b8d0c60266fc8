"""Good readings, offsets and the value on a day."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.dates import InUse
from maintenance.core.facts import Meter, Reading, Replacement, Stay
from maintenance.core.meters import track_meter
from maintenance.core.meters.consistent import Entry, can_follow, consistent

D = date.fromisoformat
FIRST = D("2026-01-01")
NO_STAYS = InUse([], FIRST)


def readings(*pairs: tuple[str, int]) -> tuple[Reading, ...]:
    return tuple(Reading(D(on), Decimal(value)) for on, value in pairs)


# --- the largest consistent set ---------------------------------------------------

entries = st.lists(
    st.tuples(
        st.integers(0, 12),
        st.integers(0, 6).map(lambda n: Decimal(n * 600)),
        st.integers(0, 5).map(lambda n: n == 0),  # one in six is confirmed
    ),
    max_size=8,
    unique_by=lambda row: row[0],
)


def agree(entries: tuple[Entry, ...]) -> bool:
    return all(can_follow(a, b, 1500) for a, b in pairwise(entries))


@given(entries)
def test_consistent_is_the_largest_set_entered_first(rows: list) -> None:
    found = sorted(Entry(day, value, i) for i, (day, value, _c) in enumerate(rows))
    sets = [
        chosen
        for size in range(len(found) + 1)
        for chosen in combinations(found, size)
        if agree(chosen)
    ]
    best = max(sets, key=lambda s: (len(s), [-o for o in sorted(e.order for e in s)]))
    assert tuple(consistent(found, "mi")) == best


@given(entries)
def test_confirmed_readings_stay_and_the_others_fit_them(rows: list) -> None:
    found = sorted(Entry(day, value, i, c) for i, (day, value, c) in enumerate(rows))
    kept = consistent(found, "mi")
    assert [e for e in kept if e.confirmed] == [e for e in found if e.confirmed]
    for first, then in pairwise(kept):
        both_confirmed = first.confirmed and then.confirmed
        assert both_confirmed or can_follow(first, then, 1500)


def test_two_odometers_mixed_up_keep_the_larger_set() -> None:
    own = [(FIRST + timedelta(days=2 * i), 1000 + 10 * i) for i in range(40)]
    other = [(FIRST + timedelta(days=2 * i + 1), 90000 + 10 * i) for i in range(30)]
    rows = [Reading(on, Decimal(value)) for on, value in other + own]
    track = track_meter(Meter("mi", tuple(rows)), NO_STAYS)
    assert track.values == [Decimal(value) for _on, value in own]
    assert len(track.doubtful) == 30


# --- offsets ----------------------------------------------------------------------


def test_two_replacements_add_up() -> None:
    meter = Meter(
        "mi",
        readings(("2026-01-01", 900), ("2026-02-10", 40), ("2026-03-10", 7)),
        (
            Replacement(D("2026-03-01"), Decimal(50), Decimal(0)),
            Replacement(D("2026-02-01"), Decimal(1000), Decimal(10)),
        ),
    )
    track = track_meter(meter, NO_STAYS)
    assert track.values == [900, 1030, 1047]
    assert track.scale.shown(Decimal(1047)) == 7


@pytest.mark.parametrize(
    ("shown", "true"), [(1000, 1000), (506, 506), (505, 1495), (504, 1494), (10, 1000)]
)
def test_a_value_on_the_day_of_a_replacement(shown: int, true: int) -> None:
    replaced = Replacement(D("2026-02-01"), Decimal(1000), Decimal(10))
    track = track_meter(Meter("mi", (), (replaced,)), NO_STAYS)
    assert track.scale.true(Decimal(shown), D("2026-02-01")) == true


# --- the value on a day -----------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "value"),
    [
        ("2025-12-31", None),
        ("2026-01-01", 1000),
        ("2026-01-06", 1050),
        ("2026-01-11", 1100),
        ("2026-03-01", 1100),
    ],
)
def test_value_on_a_day(day: str, value: int | None) -> None:
    meter = Meter("mi", readings(("2026-01-01", 1000), ("2026-01-11", 1100)))
    assert track_meter(meter, NO_STAYS).value_on(D(day)) == value


def test_value_between_readings_that_lie_in_one_stay_grows_evenly() -> None:
    stay = InUse([Stay(D("2025-12-01"), D("2026-03-01"))], D("2026-04-01"))
    meter = Meter("h", readings(("2026-01-01", 100), ("2026-01-11", 105)))
    assert track_meter(meter, stay).value_on(D("2026-01-03")) == 101


def test_no_readings_no_value() -> None:
    track = track_meter(Meter("mi"), NO_STAYS)
    assert (track.known, track.known_on, track.value_on(FIRST)) == (None, None, None)


# --- readings of different facts, and figures that count nowhere ----------------------


def read(on: str, value: int, fact: str = "", confirmed: bool = False) -> Reading:
    return Reading(D(on), Decimal(value), confirmed, fact)


def test_figure_of_an_event_corrects_no_reading_of_its_day() -> None:
    rows = (
        read("2026-04-01", 40000),
        read("2026-05-04", 40380),
        read("2026-05-04", 404000, "event 1"),
    )
    track = track_meter(Meter("mi", rows), NO_STAYS)
    assert (track.known, track.doubtful) == (40380, rows[2:])


def test_largest_good_figure_of_a_day_is_its_value() -> None:
    rows = (
        read("2026-04-01", 40000),
        read("2026-05-04", 40500, "event 1"),
        read("2026-05-04", 40380),
    )
    track = track_meter(Meter("mi", rows), NO_STAYS)
    assert (track.known, track.doubtful) == (40500, ())


def test_confirmed_figure_makes_the_other_of_its_day_doubtful() -> None:
    rows = (
        read("2026-05-04", 40380),
        read("2026-05-04", 404000, "event 1", confirmed=True),
    )
    track = track_meter(Meter("mi", rows), NO_STAYS)
    assert (track.known, track.doubtful) == (404000, rows[:1])


@pytest.mark.parametrize(
    ("rows", "taken_back", "counts"),
    [
        # Doubtful beside the readings of April.
        ((read("2026-05-04", 404000),), (), False),
        # Doubtful, and another of its day corrects it.
        ((read("2026-05-04", 404000), read("2026-05-04", 40400)), (), False),
        # Confirmed.
        ((read("2026-05-04", 404000, confirmed=True),), (), True),
        # Withdrawn.
        ((), (read("2026-05-04", 404000),), False),
        # Said of another day, or by nobody.
        ((), (read("2026-05-03", 404000),), True),
        ((), (), True),
    ],
)
def test_figure_counts_unless_its_reading_is_doubtful_or_taken_back(
    rows: tuple[Reading, ...], taken_back: tuple[Reading, ...], counts: bool
) -> None:
    known = readings(("2026-04-01", 40000), ("2026-04-20", 40200))
    track = track_meter(Meter("mi", (*known, *rows), (), taken_back), NO_STAYS)
    assert track.counts(Decimal("404000.0"), D("2026-05-04")) is counts


def test_figure_corrected_that_day_counts_for_its_own_work_if_it_can_be_true() -> None:
    known = readings(("2026-04-01", 40000), ("2026-05-04", 40310))
    meter = Meter("mi", (*known, read("2026-05-04", 40400)))
    assert track_meter(meter, NO_STAYS).counts(Decimal(40310), D("2026-05-04"))


figures = st.lists(
    st.tuples(st.integers(0, 6), st.integers(0, 6), st.integers(0, 3), st.booleans()),
    max_size=10,
)


@given(figures)
def test_days_with_several_facts_keep_one_value_a_day_in_order(rows: list) -> None:
    found = tuple(
        Reading(FIRST + timedelta(days=d), Decimal(v * 600), c, f"e{n}" if n else "")
        for d, v, n, c in rows
    )
    track = track_meter(Meter("mi", found), NO_STAYS)
    assert list(track.days) == sorted(set(track.days))
    assert not any(one.confirmed for one in track.doubtful)
    if not any(one.confirmed for one in found):
        assert list(track.values) == sorted(track.values)
