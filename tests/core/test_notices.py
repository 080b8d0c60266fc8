"""Which notices are raised, once each, and what a day's silence changes."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.facts import (
    Dates,
    MeterPoint,
    Pending,
    Point,
    Standing,
    StandingName,
    TriggerKind,
    Window,
    WindowDates,
)
from maintenance.core.notices import (
    ItemNow,
    Key,
    Notice,
    Person,
    Stage,
    Told,
    next_day,
    notices_now,
    stages_now,
    still_true,
)

OPENS, CLOSES = date(2026, 5, 2), date(2026, 6, 1)
TODAY = date(2026, 5, 10)
DAY = timedelta(days=1)
ANN = Person(1)


def miles(value: str) -> MeterPoint:
    return MeterPoint("odometer", Decimal(value))


def item(
    name: StandingName = "due",
    *,
    kind: TriggerKind = "every_time",
    opens: Point = OPENS,
    closes: Point = CLOSES,
    likely: date | None = None,
    pending: tuple[Pending, ...] = (),
    expected: bool = False,
    **more: object,
) -> ItemNow:
    nothing = Dates(None, None, None)
    standing = Standing(
        key="oil",
        standing=name,
        governing=kind,
        expected=expected,
        window=Window(opens, closes),
        pending=(Pending(kind, Window(opens, closes)), *pending),
        forecast=WindowDates(nothing, Dates(None, likely, None)) if likely else None,
    )
    return replace(ItemNow(7, 70, standing), **more)


def raise_all(
    now: ItemNow, told: list[Told], as_of: date, person: Person = ANN
) -> list[Notice]:
    """Raise, and keep what was raised as the table would."""
    raised = notices_now([now], [person], told, as_of=as_of)
    told += [Told(notice.key, as_of) for notice in raised]
    return list(raised)


def labels(raised: list[Notice]) -> list[str]:
    return [f"{notice.key.stage} {notice.key.cycle}" for notice in raised]


def by_date(as_of: date) -> ItemNow:
    """An item due by date, as the reckoning has it stand on a day."""
    if as_of > CLOSES:
        return item("overdue")
    if as_of >= OPENS:
        return item("due")
    return item("soon" if OPENS - as_of <= timedelta(days=30) else "later")


# --- stages -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("now", "stages"),
    [
        (item("soon"), ("heads_up",)),
        (item("due"), ("due",)),
        (item("overdue"), ("overdue",)),
        (item("later"), ()),
        (item("waiting"), ()),
        (item("unknown"), ()),
        (item("settled"), ()),
        # Shop work: 21 days' wait and a week are 28 days; TODAY + 28 is 7 June.
        (item("later", closes=date(2026, 6, 7), shop=True), ("book",)),
        (item("later", closes=date(2026, 6, 8), shop=True), ()),
        (item("soon", shop=True), ("book",)),
        (item("soon", closes=date(2026, 7, 1), shop=True), ("heads_up",)),
        (item("due", shop=True), ("due", "book")),
        (item("due", closes=date(2026, 7, 1), shop=True), ("due",)),
        (item("overdue", shop=True), ("overdue",)),
        (item("waiting", shop=True), ()),
        (item("soon", closes=miles("42000"), shop=True), ("heads_up",)),
        (
            item("soon", closes=miles("42000"), likely=date(2026, 6, 7), shop=True),
            ("book",),
        ),
    ],
)
def test_stages_now_follow_the_standing(
    now: ItemNow, stages: tuple[Stage, ...]
) -> None:
    assert stages_now(now, as_of=TODAY) == stages


def test_stages_now_book_earlier_where_shops_take_longer() -> None:
    now = item("later", closes=date(2026, 6, 20), shop=True)
    assert stages_now(now, as_of=TODAY) == ()
    assert stages_now(now, as_of=TODAY, shop_wait_days=40) == ("book",)


# --- once each ----------------------------------------------------------------------


def test_notices_now_through_a_year_tell_each_stage_once_then_weekly_monthly() -> None:
    told: list[Told] = []
    days = [date(2026, 3, 1) + n * DAY for n in range(365)]
    seen = [(day, n.key) for day in days for n in raise_all(by_date(day), told, day)]
    expected = [(date(2026, 4, 2), "heads_up"), (OPENS, "due")]
    # design.md 6: overdue, then weekly, then monthly
    after = [1, 8, 15, 22, 29, 59, 89, 119, 149, 179, 209, 239, 269]
    expected += [(CLOSES + n * DAY, "overdue") for n in after]
    assert [(day, key.stage) for day, key in seen] == expected
    assert [key.number for _, key in seen[2:]] == list(range(13))


@given(st.lists(st.integers(1, 90), max_size=12))
def test_notices_now_after_any_silence_raise_only_the_latest_and_no_key_twice(
    pauses: list[int],
) -> None:
    told: list[Told] = []
    day = date(2026, 3, 20)
    for pause in pauses:
        day += pause * DAY
        assert len(raise_all(by_date(day), told, day)) <= 1
        assert raise_all(by_date(day), told, day) == []
    keys = [row.key for row in told]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("shop", [False, True])
def test_notices_now_tell_nothing_older_when_the_clock_jumps_back(shop: bool) -> None:
    for n in range(140):
        day = date(2026, 3, 20) + n * DAY
        told: list[Told] = []
        raise_all(replace(by_date(day), shop=shop), told, day)
        for back in (day - DAY, day - 9 * DAY, day - 40 * DAY):
            then = replace(by_date(back), shop=shop)
            assert not told or notices_now([then], [ANN], told, as_of=back) == ()


def test_notices_now_after_five_silent_months_raise_one_repeat() -> None:
    raised = raise_all(by_date(date(2026, 11, 1)), [], date(2026, 11, 1))
    assert labels(raised) == ["overdue every_time:2026-06-01#8"]


@pytest.mark.parametrize(
    "changed",
    [
        item("due", closes=date(2027, 6, 1)),
        item("due", kind="life"),
        item("due", closes=miles("42000")),
    ],
)
def test_notices_now_for_a_new_window_tell_again(changed: ItemNow) -> None:
    told: list[Told] = []
    raise_all(item("due"), told, TODAY)
    assert len(raise_all(changed, told, TODAY)) == 1


def test_notices_now_write_a_meter_value_the_same_however_it_is_stored() -> None:
    told: list[Told] = []
    raised = raise_all(item("due", closes=miles("42000.0")), told, TODAY)
    assert labels(raised) == ["due every_time:odometer:42000"]
    assert raise_all(item("due", closes=miles("42E+3")), told, TODAY) == []


def test_notices_now_of_an_item_governed_in_turn_by_two_windows_tell_once() -> None:
    distance = Pending("every_distance", Window(miles("41500"), miles("42000")))
    time = Pending("every_time", Window(OPENS, CLOSES))
    by_time = item("soon", pending=(distance,))
    by_distance = item(
        "soon", kind="every_distance", closes=miles("42000"), pending=(time,)
    )
    told: list[Told] = []
    assert len(raise_all(by_time, told, TODAY)) == 1
    assert raise_all(by_distance, told, TODAY + DAY) == []
    assert raise_all(by_time, told, TODAY + 2 * DAY) == []


def test_notices_now_overdue_on_a_meter_count_from_the_day_first_told() -> None:
    now = item("overdue", kind="every_distance", closes=miles("42000"))
    told: list[Told] = []
    days = [TODAY + n * DAY for n in range(61)]
    found = [(day - TODAY).days for day in days if raise_all(now, told, day)]
    assert found == [0, 7, 14, 21, 28, 58]


def test_notices_now_overdue_keep_counting_when_another_window_takes_over() -> None:
    told: list[Told] = []
    distance = Pending("every_distance", Window(miles("41500"), miles("42000")))
    first = item("overdue", kind="every_distance", closes=miles("42000"))
    then = item("overdue", pending=(distance,))  # the date has passed as well
    start = CLOSES - 10 * DAY
    assert labels(raise_all(first, told, start))[0].endswith(":42000")
    raise_all(first, told, start + 7 * DAY)
    days = [start + n * DAY for n in range(11, 30)]
    found = [(day - start).days for day in days if raise_all(then, told, day)]
    assert found == [14, 21, 28]


def test_notices_now_of_a_follow_up_are_not_held_by_the_item_s_other_windows() -> None:
    told: list[Told] = []
    yearly = Pending("every_time", Window(OPENS, CLOSES))
    day = CLOSES + 20 * DAY
    assert len(raise_all(item("overdue"), told, day)) == 1
    checked = item(
        "overdue",
        kind="after",
        opens=miles("50"),
        closes=miles("100"),
        pending=(yearly,),
    )
    assert labels(raise_all(checked, told, day)) == ["overdue after:odometer:100"]


def test_notices_now_of_other_windows_are_not_held_by_a_follow_up() -> None:
    told: list[Told] = []
    check = Pending("after", Window(miles("50"), miles("100")))
    after = item("due", kind="after", opens=miles("50"), closes=miles("100"))
    assert len(raise_all(after, told, TODAY)) == 1
    yearly = item("due", pending=(check,))
    assert labels(raise_all(yearly, told, TODAY)) == ["due every_time:2026-06-01"]


def test_notices_now_shop_work_is_to_be_booked_again_when_its_window_closes() -> None:
    now = item("due", kind="life", closes=date(2026, 7, 20), shop=True)
    told: list[Told] = []
    days = [TODAY + n * DAY for n in range(70)]
    found = [n.key.stage for day in days for n in raise_all(now, told, day)]
    assert found == ["due", "book"]


# --- safety -------------------------------------------------------------------------

RECHECK = {"kind": "after", "opens": miles("42360"), "closes": miles("42410")}


def test_notices_now_tell_a_safety_event_at_once_whatever_the_standing() -> None:
    told: list[Told] = []
    now = item("waiting", **RECHECK, safety=True, events=("2026-05-10",))
    raised = raise_all(now, told, TODAY)
    assert labels(raised) == ["safety event:2026-05-10"]
    assert raised[0].at_once
    assert raise_all(now, told, TODAY + DAY) == []
    again = replace(now, events=("2026-05-10", "2026-05-11"))
    assert labels(raise_all(again, told, TODAY + DAY)) == ["safety event:2026-05-11"]


def test_notices_now_of_an_event_without_safety_wait_for_the_window() -> None:
    now = item("later", **RECHECK, events=("2026-05-10",))
    assert raise_all(now, [], TODAY) == []


def test_notices_now_due_by_expectation_ask_again_until_a_reading_comes() -> None:
    now = item("due", **RECHECK, safety=True, expected=True)
    told: list[Told] = []
    days = [TODAY + n * DAY for n in range(60)]
    found = [(day - TODAY).days for day in days if raise_all(now, told, day)]
    assert found == [0, 1, 3, 7, 14, 21, 28, 58]
    read = item("overdue", **RECHECK, safety=True)
    assert labels(raise_all(read, told, days[-1])) == ["overdue after:odometer:42410"]


def test_notices_now_each_check_of_a_series_is_told() -> None:
    told: list[Told] = []
    pairs = [("10000", "10010"), ("10015", "10025"), ("10040", "10050")]
    windows = [Window(miles(low), miles(high)) for low, high in pairs]
    for n, window in enumerate(windows):
        later = tuple(Pending("after", other) for other in windows[n + 1 :])
        now = item(
            "due",
            kind="after",
            opens=window.opens,
            closes=window.closes,
            pending=later,
            safety=True,
        )
        assert [notice.at_once for notice in raise_all(now, told, TODAY)] == [True]


def test_notices_now_only_the_first_of_a_safety_stage_goes_out_at_once() -> None:
    told: list[Told] = []
    days = [CLOSES + DAY, CLOSES + 8 * DAY]
    now = item("overdue", safety=True)
    assert [raise_all(now, told, day)[0].at_once for day in days] == [True, False]
    assert not raise_all(item("soon", safety=True), [], TODAY)[0].at_once
    assert not raise_all(item("overdue"), [], days[0])[0].at_once


# --- whom, and put off --------------------------------------------------------------


@pytest.mark.parametrize(
    ("person", "now", "count"),
    [
        (Person(1, rigs=frozenset({70})), item(), 1),
        (Person(1, rigs=frozenset({71})), item(), 0),
        (Person(1, stages=frozenset({"overdue"})), item(), 0),
        (Person(1, stages=frozenset({"safety"})), item(), 0),
        (Person(1, stages=frozenset({"safety"})), item(safety=True), 1),
        (Person(1, stages=frozenset({"due"})), item(safety=True), 1),
        (Person(1, stages=frozenset()), item(safety=True, events=("e",)), 0),
        (Person(1, rigs=frozenset()), item(safety=True, events=("e",)), 0),
    ],
)
def test_notices_now_respect_what_a_person_chose(
    person: Person, now: ItemNow, count: int
) -> None:
    raised = raise_all(now, [], TODAY, person)
    assert len(raised) == count
    assert all(not n.at_once or "safety" in person.stages for n in raised)
    key = Key(7, "every_time:2026-06-01", "due", 1)
    assert still_true(key, now, person, as_of=TODAY) is bool(count)


def test_notices_now_tell_each_person_apart() -> None:
    told: list[Told] = []
    raise_all(item(), told, TODAY)
    raised = notices_now([item()], [ANN, Person(2)], told, as_of=TODAY)
    assert [notice.key.person for notice in raised] == [2]


def test_notices_now_put_off_by_one_person_come_back_to_them_once() -> None:
    told: list[Told] = []
    until = TODAY + 5 * DAY
    held = Person(1, held={7: until})
    raise_all(item(), told, TODAY)
    found = {n: raise_all(item(), told, TODAY + n * DAY, held) for n in range(1, 12)}
    assert {n for n, raised in found.items() if raised} == {5}
    assert labels(found[5]) == ["due every_time:2026-06-01@2026-05-15"]


def test_notices_now_of_a_deferred_item_wait_and_then_tell_once() -> None:
    told: list[Told] = []
    now = item(held_until=TODAY + 5 * DAY)
    found = [raise_all(now, told, TODAY + n * DAY) for n in range(10)]
    assert [len(raised) for raised in found] == [0] * 5 + [1] + [0] * 4
    assert raise_all(item(held_until=date.max), [], TODAY) == []


def test_notices_now_of_a_deferred_item_still_tell_a_new_event() -> None:
    now = item(**RECHECK, safety=True, events=("e",), held_until=date.max)
    assert labels(raise_all(now, [], TODAY)) == ["safety event:e"]


# --- keys --------------------------------------------------------------------------


def test_key_fits_its_row_and_reads_back() -> None:
    closes = MeterPoint("towed_distance", Decimal("999999.9"))
    now = item("overdue", kind="every_distance", closes=closes)
    told = [Told(Key(7, "every_distance:towed_distance:999999.9", "overdue", 1), TODAY)]
    key = raise_all(now, told, TODAY + 4000 * DAY)[0].key
    assert len(key.cycle) <= 80
    assert (key.window, key.number) == (told[0].key.cycle, 4 + 3972 // 30)
    assert str(key) == f"7/{key.cycle}/overdue/1"


# --- the next day -------------------------------------------------------------------


@st.composite
def standing_items(draw: st.DrawFn) -> ItemNow:
    """Items that stay as they stand, though not as long as the day goes on."""
    name = draw(st.sampled_from(["later", "soon", "due", "overdue", "waiting"]))
    closes = TODAY + draw(st.integers(-90, 90)) * DAY
    on_a_meter = draw(st.booleans())
    return item(
        name,
        closes=miles("42000") if on_a_meter else closes,
        opens=miles("41000") if on_a_meter else closes - 9 * DAY,
        likely=closes if on_a_meter and draw(st.booleans()) else None,
        expected=name == "due" and draw(st.booleans()),
        shop=draw(st.booleans()),
        safety=draw(st.booleans()),
        held_until=draw(st.none() | st.integers(-5, 20).map(lambda n: TODAY + n * DAY)),
    )


@given(standing_items(), st.lists(st.integers(-60, 0), max_size=4))
def test_until_the_next_day_there_is_nothing_to_raise(
    now: ItemNow, looked: list[int]
) -> None:
    told: list[Told] = []
    for ago in sorted({*looked, 0}):
        raise_all(now, told, TODAY + ago * DAY)

    until = next_day([now], [ANN], told, as_of=TODAY)

    for ahead in range(1, min((until - TODAY).days, 100)):
        assert notices_now([now], [ANN], told, as_of=TODAY + ahead * DAY) == ()


def test_next_day_of_an_overdue_item_is_its_next_repeat() -> None:
    told: list[Told] = []
    overdue = item("overdue")  # closed on 1 June, so overdue from 2 June on
    days, on = [], date(2026, 6, 2)
    for _ in range(7):
        days.append((on - date(2026, 6, 2)).days)
        assert raise_all(overdue, told, on)
        on = next_day([overdue], [ANN], told, as_of=on)

    assert days == [0, 7, 14, 21, 28, 58, 88]


def test_next_day_of_what_asks_for_nothing_is_never() -> None:
    assert next_day([item("later")], [ANN], [], as_of=TODAY) == date.max


# --- unfit to travel ------------------------------------------------------------------

DRIVER = Person(2, stages=frozenset(), rigs=frozenset(), drives=True)


@pytest.mark.parametrize("person", [DRIVER, replace(DRIVER, drives=False)])
@pytest.mark.parametrize(
    ("unfit_by", "name", "events", "stages"),
    [
        ("event", "due", ("12",), ["safety"]),
        ("age", "overdue", (), ["overdue", "safety"]),
        ("overdue", "overdue", (), ["overdue"]),
        ("", "overdue", ("12",), []),
    ],
)
def test_what_makes_unfit_then_told_at_once_to_who_may_drive(
    unfit_by, name, events, stages, person
):
    now = item(name, safety=True, events=events, unfit_by=unfit_by)
    found = notices_now([now], [person], [], as_of=TODAY)

    assert sorted(one.key.stage for one in found) == (stages if person.drives else [])
    assert all(one.at_once for one in found)


def test_tire_that_turns_too_old_though_told_overdue_for_years_then_told_at_once():
    told = notices_now(
        [item("overdue", safety=True)], [ANN], [], as_of=TODAY - 2000 * DAY
    )
    before = [Told(one.key, TODAY - 2000 * DAY) for one in told]
    now = item("overdue", safety=True, unfit_by="age")

    found = notices_now([now], [replace(ANN, drives=True)], before, as_of=TODAY)

    assert [one.key.cycle for one in found if one.at_once] == ["age:past"]
    later = [*before, *(Told(one.key, TODAY) for one in found)]
    assert not notices_now([now], [replace(ANN, drives=True)], later, as_of=TODAY)
