"""Properties of the reckoning on rigs of all kinds."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from maintenance.core.facts import (
    Baseline,
    Calendar,
    Completion,
    Duty,
    Event,
    Item,
    Meter,
    Reading,
    Reckoning,
    Rig,
    Span,
    Standing,
    Stay,
    Trigger,
    Trip,
)
from maintenance.core.reckon import reckon, reckoning_to_data
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.before_trip import BeforeTrip
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.life import Life
from maintenance.core.triggers.kinds.season import Season
from maintenance.core.triggers.kinds.storage_entry import StorageEntry
from maintenance.core.triggers.kinds.storage_exit import StorageExit
from maintenance.core.triggers.kinds.while_stored import WhileStored

AS_OF = date(2026, 5, 4)
CALENDAR = Calendar()
# How urgent a standing is; those that ask for nothing now are alike.
URGENCY = {"overdue": 4, "due": 3, "unknown": 2, "soon": 1}
PLACES = st.one_of(
    st.none(), st.frozensets(st.sampled_from(["LF", "RF", "LR"]), min_size=1)
)


def day(ago: int) -> date:
    return AS_OF - timedelta(days=ago)


def reckoned(rig: Rig) -> Reckoning:
    return reckon(rig, calendar=CALENDAR, as_of=AS_OF)


def shown_at(ago: int) -> Decimal:
    """The odometer of all rigs here: about 30 mi a day, a little uneven."""
    return Decimal(40000 - 30 * ago - ago % 7)


@st.composite
def every_meter(draw: st.DrawFn) -> EveryMeter:
    interval = draw(st.integers(20, 12000))
    first, severe = (
        draw(st.none() | st.integers(10, interval).map(Decimal)) for _ in range(2)
    )
    return EveryMeter("odometer", "mi", Decimal(interval), first, severe)


@st.composite
def every_time(draw: st.DrawFn) -> EveryTime:
    if draw(st.booleans()):
        days = draw(st.integers(3, 700))
        severe = draw(st.none() | st.integers(2, days).map(Span))
        return EveryTime(Span(days), severe=severe, in_use=draw(st.booleans()))
    months = draw(st.integers(1, 60))
    shorter = st.none() | st.integers(1, months).map(lambda n: Span(months=n))
    return EveryTime(Span(months=months), draw(shorter), draw(shorter))


def checks(draw: st.DrawFn) -> tuple[tuple[Decimal, Decimal], ...]:
    lows = draw(st.lists(st.integers(0, 300), min_size=1, max_size=3))
    return tuple((Decimal(low), Decimal(low + 50)) for low in sorted(lows))


@st.composite
def after(draw: st.DrawFn) -> After:
    if draw(st.booleans()):
        return After("wheel_off", checks(draw), "odometer", "mi")
    return After("wheel_off", checks(draw))


TRIGGERS: st.SearchStrategy[Trigger] = st.one_of(
    every_meter(),
    every_time(),
    st.sampled_from(["spring", "autumn"]).map(Season),
    st.builds(StorageEntry, st.integers(0, 30), st.integers(0, 30)),
    st.builds(WhileStored, st.integers(2, 90), st.booleans()),
    st.just(StorageExit()),
    after(),
    st.builds(BeforeTrip, st.integers(0, 10)),
    st.builds(Life, st.integers(1, 60).map(lambda n: Span(months=n)), st.just(day(99))),
)


def figures(draw: st.DrawFn, ago: int) -> dict[str, Decimal]:
    return {"odometer": shown_at(ago)} if draw(st.booleans()) else {}


@st.composite
def completion(draw: st.DrawFn, ago: int) -> Completion:
    outcomes = ["done", "serviceable", "held", "moved", "fault_found", "not_done"]
    outcome = draw(st.sampled_from(outcomes))
    return Completion(day(ago), None, figures(draw, ago), outcome, draw(PLACES))


def different_days(most: int) -> st.SearchStrategy[list[int]]:
    return st.lists(st.integers(0, 800), unique=True, max_size=most)


@st.composite
def an_item(draw: st.DrawFn, key: str, *, safety: bool | None = None) -> Item:
    baseline = draw(
        st.none()
        | st.just("in_service")
        | st.integers(0, 900).map(lambda a: Baseline(day(a)))
    )
    taken_on = draw(st.none() | st.integers(0, 900).map(day))
    return Item(
        key,
        tuple(draw(st.lists(TRIGGERS, min_size=1, max_size=3))),
        tuple(draw(completion(ago)) for ago in draw(different_days(5))),
        baseline,
        taken_on,
        anchored=draw(st.booleans()),
        once=draw(st.integers(0, 9)) == 0,
        safety=draw(st.booleans()) if safety is None else safety,
    )


@st.composite
def stays(draw: st.DrawFn) -> tuple[Stay, ...]:
    found = [
        Stay(day(700), day(600), winterized=draw(st.booleans())),
        Stay(day(300), day(200)),
    ]
    last = draw(st.sampled_from(["none", "open", "planned end", "void", "planned"]))
    if last == "planned":
        found.append(Stay(day(-20), None, day(-90)))
    elif last != "none":
        end = {"planned end": day(-40), "void": day(3)}.get(last)
        found.append(Stay(day(20), None, end))
    return tuple(found)


@st.composite
def a_rig(draw: st.DrawFn, *, safety: bool | None = None, readings: int = 8) -> Rig:
    taken = sorted(draw(different_days(readings)), reverse=True)
    count = draw(st.integers(1, 3))
    events = tuple(
        Event("wheel_off", day(ago), figures(draw, ago), draw(PLACES))
        for ago in draw(different_days(4))
    )
    trips = draw(st.lists(st.integers(-60, 60), unique=True, max_size=3))
    return Rig(
        {"odometer": Meter("mi", tuple(Reading(day(a), shown_at(a)) for a in taken))},
        tuple(draw(an_item(f"item {i}", safety=safety)) for i in range(count)),
        Baseline(day(1200), {"odometer": Decimal(10)}),
        tuple(Duty(day(a), day(a - 10)) for a in draw(different_days(2))),
        draw(stays()),
        tuple(Trip(day(a), day(a - 4), Decimal(500)) for a in trips),
        events,
    )


@given(a_rig())
def test_reckoning_twice_gives_the_same(rig: Rig) -> None:
    assert reckoned(rig) == reckoned(rig)


@given(a_rig(), st.randoms(use_true_random=False))
def test_order_does_not_matter(rig: Rig, chance) -> None:
    def mixed(things):
        things = list(things)
        chance.shuffle(things)
        return tuple(things)

    meter = rig.meters["odometer"]
    other = Rig(
        {"odometer": replace(meter, readings=mixed(meter.readings))},
        mixed(replace(item, done=mixed(item.done)) for item in rig.items),
        rig.in_service,
        mixed(rig.duty),
        mixed(rig.stays),
        mixed(rig.trips),
        mixed(rig.events),
    )
    first, then = reckoned(rig), reckoned(other)
    assert {one.key: one for one in first.items} == {one.key: one for one in then.items}
    assert first.meters == then.meters


@given(a_rig(safety=False, readings=6), st.integers(0, 1000))
def test_more_use_never_delays(rig: Rig, more: int) -> None:
    """The same rig, driven farther by its last reading. Figures of its own for all
    work: without one, more use also moves what the work is counted from. A safety
    item's early date is left out: steadier use, known better, may put it later."""
    meter = rig.meters["odometer"]
    assume(len(meter.readings) > 1)
    last = meter.readings[-1]
    farther = replace(last, value=last.value + more)
    own = replace(rig, items=tuple(_with_figures(item) for item in rig.items))
    driven = replace(
        own,
        meters={"odometer": replace(meter, readings=(*meter.readings[:-1], farther))},
        events=tuple(_own_event(event) for event in rig.events),
    )
    own = replace(own, events=driven.events)
    before, then = reckoned(own), reckoned(driven)
    assume(not before.meters["odometer"].doubtful)
    assume(not then.meters["odometer"].doubtful)
    for less, more_used in zip(before.items, then.items, strict=True):
        assert urgency(more_used) >= urgency(less)


def _with_figures(item: Item) -> Item:
    done = tuple(
        replace(one, values={"odometer": shown_at((AS_OF - one.on).days)})
        for one in item.done
    )
    baseline = item.baseline
    if isinstance(baseline, Baseline):
        ago = (AS_OF - baseline.on).days
        baseline = replace(baseline, values={"odometer": shown_at(ago)})
    return replace(item, done=done, baseline=baseline)


def _own_event(event: Event) -> Event:
    return replace(event, values={"odometer": shown_at((AS_OF - event.on).days)})


def urgency(standing: Standing) -> int:
    return URGENCY.get(standing.standing, 0)


def lacks_base(rig: Rig, item: Item) -> bool:
    """Whether one of several rules, on its own, would be unknown."""
    alone = (replace(item, triggers=(trigger,)) for trigger in item.triggers)
    standings = reckoned(replace(rig, items=tuple(alone))).items
    return len(standings) > 1 and any(s.standing == "unknown" for s in standings)


@given(a_rig(), st.booleans())
def test_a_completion_that_held_never_makes_its_item_more_urgent(
    rig: Rig, figure: bool
) -> None:
    """Of an item whose every rule has its base: otherwise the first completion gives a
    rule its first window, which may well come before the others. And not without a
    figure where work before had one that no reading knows (a record's figure is stored
    as a reading): the last reading may be less than that."""
    figure = figure or any(one.values for one in rig.items[0].done)
    values = {"odometer": shown_at(0)} if figure else {}
    held = Completion(AS_OF, None, values, "held")
    item = rig.items[0]
    done = replace(rig, items=(replace(item, done=(*item.done, held)),))
    before = reckoned(replace(rig, items=(item,))).items[0]
    assume(not lacks_base(rig, item))
    assert urgency(reckoned(done).items[0]) <= urgency(before)


@given(a_rig())
def test_what_comes_out_holds_together(rig: Rig) -> None:
    for one in reckoned(rig).items:
        assert one.why
        assert (one.window is None) or (one.governing is not None)
        assert not one.expected or one.standing == "due"
        windows = [pending.window for pending in one.pending]
        assert one.window is None or one.window in windows
        if one.standing in ("unknown", "settled"):
            assert (one.governing, one.pending) == (None, ())


@settings(max_examples=50)
@given(a_rig())
def test_the_output_is_plain_data(rig: Rig) -> None:
    data = reckoning_to_data(reckoned(rig), lambda fact: fact.key)
    assert [item["key"] for item in data["items"]] == [i.key for i in rig.items]  # type: ignore[attr-defined]
