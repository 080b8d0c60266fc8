"""Until when an item may be put off, and who may."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.deferral import check_deferral, deferral_ends, deferral_over
from maintenance.core.facts import (
    Item,
    MeterPoint,
    MeterState,
    Pending,
    Point,
    Standing,
    Window,
)

D = date.fromisoformat
AS_OF = D("2026-05-04")
METERS = {
    "odometer": MeterState("mi", Decimal(42000), AS_OF),
    "towed": MeterState("km", Decimal(1000), AS_OF),
    "engine": MeterState("h", Decimal(100), AS_OF),
    "generator": MeterState("h", None, None),
}
PLAIN = Item("oil", ())
SAFETY = Item("brakes", (), safety=True)
DUE = Standing("any", "due", governing="every_time")


def at(value: float, meter: str = "odometer") -> MeterPoint:
    return MeterPoint(meter, Decimal(str(value)))


def against(
    item: Item,
    until: Point,
    *,
    standing: Standing = DUE,
    reason: str = "no time",
    by_keeper: bool = True,
    since: date | None = None,
) -> list[str]:
    facts = check_deferral(
        item,
        standing,
        METERS,
        as_of=AS_OF,
        until=until,
        reason=reason,
        by_keeper=by_keeper,
        put_off_since=since,
    )
    return [fact.key for fact in facts]


@pytest.mark.parametrize(
    ("until", "problems"),
    [
        (D("2026-05-05"), []),
        (D("2026-06-03"), []),  # 30 days
        (D("2026-06-04"), ["deferral_too_long"]),
        (AS_OF, ["deferral_not_ahead"]),
        (at(42100), []),
        (at(42100.1), ["deferral_too_far"]),
        (at(42000), ["deferral_not_ahead_value"]),
        (at(1160, "towed"), []),
        (at(1160.1, "towed"), ["deferral_too_far"]),
        (at(110, "engine"), ["deferral_by_day_only"]),
        (at(10, "generator"), ["deferral_needs_reading"]),
        (at(10, "hub"), ["deferral_needs_reading"]),
    ],
)
def test_a_safety_item_is_put_off_so_far_at_most(
    until: Point, problems: list[str]
) -> None:
    assert against(SAFETY, until) == problems


@pytest.mark.parametrize("until", [D("2027-05-04"), at(52000), at(200, "engine")])
def test_others_are_put_off_as_far_as_one_likes(until: Point) -> None:
    assert against(PLAIN, until, by_keeper=False) == []


def test_a_safety_item_is_put_off_by_a_keeper_only() -> None:
    assert against(SAFETY, D("2026-05-05"), by_keeper=False) == [
        "deferral_by_keeper_only"
    ]


@pytest.mark.parametrize("item", [PLAIN, SAFETY])
def test_a_reason_is_given(item: Item) -> None:
    assert against(item, D("2026-05-05"), reason=" ") == ["deferral_needs_reason"]


def follow_up(closes: Point) -> Standing:
    window = Window(closes, closes)
    return Standing("any", "due", pending=(Pending("after", window, None),))


@pytest.mark.parametrize(
    ("closes", "until", "problems"),
    [
        (D("2026-05-10"), D("2026-05-10"), []),
        (D("2026-05-10"), D("2026-05-11"), ["deferral_past_day"]),
        (D("2026-05-10"), at(42010), ["deferral_past_day"]),
        (at(42050), at(42050), []),
        (at(42050), at(42050.1), ["deferral_past_value"]),
        (at(42050), D("2026-05-05"), ["deferral_past_value"]),
        (at(42050), at(1010, "towed"), ["deferral_past_value"]),
    ],
)
def test_a_follow_up_is_never_put_off_beyond_its_closes(
    closes: Point, until: Point, problems: list[str]
) -> None:
    assert against(PLAIN, until, standing=follow_up(closes)) == problems


def test_a_follow_up_without_a_window_cannot_be_put_off() -> None:
    standing = Standing("any", "due", governing="after", expected=True)
    assert against(SAFETY, D("2026-05-05"), standing=standing) == ["deferral_no_window"]


@pytest.mark.parametrize(
    ("until", "over"),
    [
        (D("2026-05-05"), False),
        (AS_OF, True),
        (at(42000.1), False),
        (at(42000), True),
        (at(5, "generator"), False),
        (at(5, "hub"), True),  # the meter is gone
    ],
)
def test_a_deferral_is_over(until: Point, over: bool) -> None:
    assert deferral_over(until, METERS, as_of=AS_OF) is over


def opened(opens: Point, closes: Point) -> Standing:
    return Standing("any", "due", "every_time", window=Window(opens, closes))


@pytest.mark.parametrize(
    ("opens", "until", "problems"),
    [
        (D("2026-04-20"), D("2026-05-20"), []),  # 30 days after it opened
        (D("2026-04-20"), D("2026-05-21"), ["deferral_too_long"]),
        (D("2026-04-04"), D("2026-05-05"), ["deferral_ran_out"]),  # opened 30 days ago
        (D("2026-05-10"), D("2026-06-09"), []),  # not open yet
        (D("2026-05-10"), D("2026-06-10"), ["deferral_too_long"]),
        (at(41950), at(42050), []),  # 100 mi after it opened
        (at(41950), at(42050.1), ["deferral_too_far"]),
        (at(41950), D("2026-06-03"), []),
        (at(41900), D("2026-05-05"), ["deferral_ran_out"]),
        (at(950, "towed"), at(1110, "towed"), []),  # 160 km
        (at(950, "towed"), at(1110.1, "towed"), ["deferral_too_far"]),
    ],
)
def test_a_safety_item_is_put_off_from_when_its_window_opened(
    opens: Point, until: Point, problems: list[str]
) -> None:
    assert against(SAFETY, until, standing=opened(opens, opens)) == problems


def test_putting_off_again_and_again_then_no_farther_than_once() -> None:
    """By miles nobody knows the day on which it opened: the first deferral counts."""
    standing = opened(at(41950), at(42100))
    since = D("2026-04-10")

    assert against(SAFETY, D("2026-05-10"), standing=standing, since=since) == []
    assert against(SAFETY, D("2026-05-11"), standing=standing, since=since) == [
        "deferral_too_long"
    ]
    assert against(PLAIN, D("2027-05-11"), standing=standing, since=since) == []


def test_a_deferral_made_before_ends_where_one_may_end() -> None:
    follow = Pending("after", Window(at(42050), at(42100)), None)
    standing = Standing(
        "any", "due", window=Window(D("2026-04-20"), AS_OF), pending=(follow,)
    )
    made = D("2026-04-01")

    def ends(*, safety: bool) -> tuple[Point, ...]:
        return deferral_ends(
            standing, METERS, safety=safety, put_off_since=made, as_of=AS_OF
        )

    assert ends(safety=True) == (D("2026-05-20"), at(42100))
    assert ends(safety=False) == (at(42100),)


# Where the rig stood when the window opened; nothing tells of a day before March.
BY_DAY = {D("2026-03-01"): 41000, D("2026-04-20"): 41950, AS_OF: 42000}
DRIVEN = METERS | {
    "odometer": MeterState(
        "mi", Decimal(42000), AS_OF, on_day=lambda day: Decimal(BY_DAY[day])
    )
}


def driven_against(until: Point, opens: Point, since: date | None = None) -> list[str]:
    facts = check_deferral(
        SAFETY,
        opened(opens, opens),
        DRIVEN,
        as_of=AS_OF,
        until=until,
        reason="no time",
        by_keeper=True,
        put_off_since=since,
    )
    return [fact.key for fact in facts]


@pytest.mark.parametrize(
    ("opens", "until", "problems"),
    [
        # design 4.3: 30 days or 100 mi after it opens, whichever first
        (D("2026-04-20"), at(42050), []),
        (D("2026-04-20"), at(42050.1), ["deferral_too_far"]),
        (D("2026-04-20"), D("2026-05-20"), []),
        (D("2026-03-01"), D("2026-05-05"), ["deferral_ran_out"]),
        (D("2026-05-10"), at(42100), []),  # not open yet: nobody knows where
    ],
)
def test_window_that_opens_on_a_day_holds_it_to_100_miles_too(
    opens: Point, until: Point, problems: list[str]
) -> None:
    assert driven_against(until, opens) == problems


def test_window_by_hours_holds_it_to_100_miles_since_it_was_put_off() -> None:
    by_hours = at(90, "engine")

    since = D("2026-04-20")
    assert driven_against(at(42050), by_hours, since) == []
    assert driven_against(at(42051), by_hours, since) == ["deferral_too_far"]


def test_deferral_to_a_day_ends_100_miles_after_its_window_opened() -> None:
    ends = deferral_ends(
        opened(D("2026-04-20"), D("2026-05-20")),
        DRIVEN,
        safety=True,
        put_off_since=AS_OF,
        as_of=AS_OF,
    )

    assert ends == (D("2026-05-20"), at(42050))
    near, past = (
        {"odometer": MeterState("mi", Decimal(known), AS_OF)}
        for known in ("42049.9", "42050")
    )
    assert not deferral_over(at(42050), near, as_of=AS_OF)
    assert deferral_over(at(42050), past, as_of=AS_OF)
