"""Items that are reckoned place by place."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.facts import (
    Calendar,
    Completion,
    Event,
    Fact,
    Item,
    Meter,
    Rig,
    Span,
)
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.every_time import EveryTime
from tests.core.test_reckon_properties import AS_OF, a_rig, day, reckoned

PLACES = ("LF", "RF", "LR", "RR")
YEARLY = EveryTime(Span(months=12))


def bearings(*done: Completion, **fields: object) -> Item:
    return Item("bearings", (YEARLY,), done, per_place=True, **fields)  # type: ignore[arg-type]


def at(on: date, *places: str) -> Completion:
    return Completion(on, places=frozenset(places) or None)


def stand(*items: Item, places: tuple[str, ...] = PLACES):
    rig = Rig({"odometer": Meter("mi")}, items, places=places)
    return reckon(rig, calendar=Calendar(), as_of=AS_OF).items


def told(why: tuple[Fact, ...]) -> list[str]:
    """Each fact once, without those of other windows."""
    return [
        *dict.fromkeys(str(fact) for fact in why if not fact.key.startswith("also_"))
    ]


@settings(max_examples=60, deadline=None)
@given(a_rig())
def test_work_that_names_no_place_stands_as_an_item_of_the_whole_rig(rig: Rig) -> None:
    """But for the places that its windows are given with."""
    bare = [
        replace(
            item,
            triggers=tuple(t for t in item.triggers if not isinstance(t, After)),
            done=tuple(replace(one, places=None) for one in item.done),
        )
        for item in rig.items
    ]
    bare = [item for item in bare if item.triggers]
    whole = reckoned(replace(rig, items=tuple(bare)))
    each = [replace(item, per_place=True) for item in bare]
    by_place = reckoned(replace(rig, items=tuple(each), places=PLACES))
    for one, other in zip(whole.items, by_place.items, strict=True):
        assert (one.standing, one.governing) == (other.standing, other.governing)
        assert (one.window, one.expected) == (other.window, other.expected)
        # Two rules that give one window are one row here.
        assert told(one.why) == told(other.why)
        windows = [p.window for p in one.pending]
        assert list(dict.fromkeys(windows)) == [p.window for p in other.pending]


places = st.frozensets(st.sampled_from(PLACES), min_size=1)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 900), places), max_size=6))
def test_it_stands_as_the_most_urgent_of_its_places(
    rows: list[tuple[int, frozenset[str]]],
) -> None:
    done = [Completion(day(ago), places=named) for ago, named in rows]
    (found,) = stand(bearings(*done))
    alone = [
        stand(
            Item("one", (YEARLY,), tuple(one for one in done if name in one.places)),
            places=(),
        )[0]
        for name in PLACES
    ]
    order = ["overdue", "due", "unknown", "soon", "later"]
    assert found.standing == min((one.standing for one in alone), key=order.index)
    ruling = [one for one in alone if one.standing == found.standing and one.window]
    first = min(ruling, key=lambda one: one.window.closes, default=None)
    assert found.window == (first and first.window)
    windows = {p.window for one in alone for p in one.pending}
    assert [p.window for p in found.pending] == sorted(
        windows, key=lambda window: window.closes
    )


def test_why_names_the_places_that_it_is_about() -> None:
    found, none = stand(
        bearings(at(day(900)), at(day(9), "LF", "RF", "LR")),
        replace(bearings(at(day(9), "LF", "RF")), key="two"),
    )
    assert (found.why[0].key, found.why[0].values["places"]) == ("at_places", ("RR",))
    assert (none.standing, none.why[0].values["places"]) == ("unknown", ("LR", "RR"))


def test_a_place_that_the_rig_no_longer_has_renews_nothing() -> None:
    """Kept rows may name a wheel of before; only a case file refuses it."""
    (found,) = stand(bearings(at(day(900)), at(day(9), "LM")))
    assert found.standing == "overdue"


def test_a_safety_event_without_a_figure_is_due_at_its_places() -> None:
    check = After("wheel_off", ((Decimal(50), Decimal(100)),), "odometer", "mi")
    item = Item("lugs", (check,), safety=True, per_place=True)
    event = Event("wheel_off", day(5), places=frozenset({"LF", "LR"}))
    rig = Rig({"odometer": Meter("mi")}, (item,), events=(event,), places=PLACES)
    (found,) = reckon(rig, calendar=Calendar(), as_of=AS_OF).items
    assert (found.standing, found.expected) == ("due", True)
    assert found.why[0].values["places"] == ("LF", "LR")
