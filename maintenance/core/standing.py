"""From the windows of an item to its standing and the trigger that governs it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from maintenance.core.changes import changes_on
from maintenance.core.facts import (
    Fact,
    Item,
    MeterPoint,
    Pending,
    Standing,
    StandingName,
    TriggerKind,
    Window,
    WindowDates,
)
from maintenance.core.fitness import not_legal, unfit_by
from maintenance.core.forecast import Use
from maintenance.core.meters import TowedTrack
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import kinds_of
from maintenance.core.triggers.kinds import FOLLOW_UPS
from maintenance.core.triggers.windows import (
    DayWindow,
    History,
    MissingInput,
    OpenWindow,
    ValueWindow,
    WindowResult,
)
from maintenance.core.why import by_days, by_value, last_reading, plan_passed, reached

URGENT: tuple[StandingName, ...] = (
    "overdue",
    "due",
    "unknown",
    "soon",
    "later",
    "waiting",
    "settled",
)


@dataclass(frozen=True, slots=True)
class Judged:
    """One window where it stands today; `likely`: the day it closes, as far as known.

    A follow-up of a safety item whose event has no figure has no window.
    """

    kind: TriggerKind
    standing: StandingName
    why: tuple[Fact, ...]
    window: OpenWindow | None = None
    dates: WindowDates | None = None
    likely: date = date.max
    expected: bool = False
    places: frozenset[str] | None = None


def stand(day: RigTimeline, item: Item) -> Standing:
    """The standing of one item: the most urgent of its windows, or why it has none."""
    places = day.rig.places if item.per_place else ()
    looks = [_look(day, item, place) for place in places or ("",)]
    windows = _merged(looks, places) if places else _all_windows(looks[0].found)
    next_on = changes_on(day, item, windows)
    outcomes = [_judge(day, item, one) for one in windows]
    judged = _closing_first([one for one in outcomes if isinstance(one, Judged)])
    missing = [one for one in outcomes if isinstance(one, MissingInput)]
    each = [_stands_at(day, look, judged, missing) for look in looks]
    urgent = _most_urgent(each, judged)
    found = _made(day, item, urgent, judged)
    if places and urgent.standing == "unknown":
        alike = [one.place for one in each if one.standing == "unknown"]
        found = _at_places(found, alike, len(places))
    return replace(
        found,
        unfit_by=unfit_by(item, found.standing, found.pending, day.as_of),
        not_legal=not_legal(item, found.standing),
        changes_on=next_on,
    )


@dataclass(frozen=True, slots=True)
class Look:
    """What the triggers of an item find, of one place or ("") of the whole item."""

    place: str
    history: History
    found: Sequence[WindowResult] = ()


@dataclass(frozen=True, slots=True)
class At:
    """How one place stands: by which windows, or why by none."""

    place: str
    standing: StandingName
    ruling: Sequence[Judged] = ()
    why: tuple[Fact, ...] = ()


def _look(day: RigTimeline, item: Item, place: str) -> Look:
    look = Look(place, History(day, item, place))
    if look.history.settled_on is not None:
        return look
    return replace(
        look, found=[one.windows(day, look.history) for one in kinds_of(item)]
    )


def _stands_at(
    day: RigTimeline,
    look: Look,
    judged: Sequence[Judged],
    missing: Sequence[MissingInput],
) -> At:
    place = look.place
    settled_on = look.history.settled_on
    if settled_on is not None:
        fact = Fact("settled", {"on": settled_on})
        return At(place, "settled", why=(fact,))
    own = [one for one in judged if not place or place in (one.places or ())]
    if own:
        standing = min((one.standing for one in own), key=URGENT.index)
        if standing in ("soon", "later") and _parked(day, own):
            return At(place, "waiting", own)
        return At(place, standing, [one for one in own if one.standing == standing])
    missing = [one for one in missing if not place or place in (one.places or ())]
    why = tuple(fact for one in missing for fact in one.why)
    if why:
        return At(place, "unknown", why=why)
    idle = tuple(fact for one in look.found for fact in one.idle)
    return At(place, "waiting", why=idle)


def _most_urgent(each: Sequence[At], judged: Sequence[Judged]) -> At:
    """Of places that stand alike all their windows rule, in the order of all."""
    urgent = min(each, key=lambda one: URGENT.index(one.standing))
    if len(each) == 1:
        return urgent
    alike = [one for one in each if one.standing == urgent.standing]
    ruling = {id(one) for at in alike for one in at.ruling}
    return replace(urgent, ruling=[one for one in judged if id(one) in ruling])


def _made(day: RigTimeline, item: Item, at: At, judged: Sequence[Judged]) -> Standing:
    pending = _pending(day, judged)
    if not at.ruling:
        return Standing(item.key, at.standing, pending=pending, why=at.why)
    governing = at.ruling[0]
    return Standing(
        item.key,
        at.standing,
        governing=governing.kind,
        expected=at.standing == "due" and all(one.expected for one in at.ruling),
        window=_shown(day, governing.window),
        pending=pending,
        forecast=governing.dates,
        why=_why(day, at.standing, governing, judged),
    )


def _all_windows(found: Iterable[WindowResult]) -> list[OpenWindow | MissingInput]:
    return [one for each in found for one in (*each.windows, *each.missing)]


# --- place by place -------------------------------------------------------------------


def _merged(
    looks: Sequence[Look], places: Sequence[str]
) -> list[OpenWindow | MissingInput]:
    """The windows of all places; those that are alike once, with their places."""
    alike: dict[object, tuple[OpenWindow | MissingInput, list[str]]] = {}
    for look in looks:
        for one in _all_windows(look.found):
            alike.setdefault(_kind_of(one), (one, []))[1].append(look.place)
    return [_with_places(one, at, len(places)) for one, at in alike.values()]


def _kind_of(one: OpenWindow | MissingInput) -> object:
    """What windows of several places have to share to be one."""
    if isinstance(one, MissingInput):
        return one.kind, one.since, tuple(map(_but_places, one.why))
    if isinstance(one, DayWindow):
        return one.kind, one.opens, one.closes, one.interval_days
    return one.kind, one.meter, one.opens, one.closes, one.since


def _but_places(fact: Fact) -> object:
    return fact.key, tuple(pair for pair in fact.values.items() if pair[0] != "places")


def _with_places(
    one: OpenWindow | MissingInput, at: Sequence[str], count: int
) -> OpenWindow | MissingInput:
    """With its places, and in its facts as well where they are not all."""
    named = tuple(sorted(at))
    why = tuple(_fact_at(fact, named) for fact in one.why)
    if len(at) < count:
        why = (Fact("at_places", {"places": named}), *why)
    return replace(one, places=frozenset(at), why=why)


def _fact_at(fact: Fact, places: tuple[str, ...]) -> Fact:
    if not fact.values.get("places"):
        return fact
    return Fact(fact.key, {**fact.values, "places": places})


def _at_places(found: Standing, places: Sequence[str], count: int) -> Standing:
    """Names the places without a record, where others have one."""
    if len(places) == count or any(fact.key == "at_places" for fact in found.why):
        return found
    named = tuple(sorted(places))
    return replace(found, why=(Fact("at_places", {"places": named}), *found.why))


# --- one window ----------------------------------------------------------------------


def _closing_first(judged: Sequence[Judged]) -> list[Judged]:
    """By the likely day of closes. On one day, or without one, as given, but those on
    one meter by value: 10 miles come before 20, whenever that will be."""
    order: list[tuple[date, int, Decimal]] = []
    met: dict[str, int] = {}
    for i, one in enumerate(judged):
        if isinstance(one.window, ValueWindow):
            at = met.setdefault(one.window.meter, i)
            order.append((one.likely, at, one.window.closes))
        else:
            order.append((one.likely, i, Decimal(0)))
    return [judged[i] for i in sorted(range(len(judged)), key=order.__getitem__)]


def _judge(
    day: RigTimeline, item: Item, found: OpenWindow | MissingInput
) -> Judged | MissingInput:
    if isinstance(found, MissingInput):
        return _judge_lack(day, item, found)
    if isinstance(found, DayWindow):
        judged: Judged | MissingInput = _judge_days(day, found)
    else:
        judged = _judge_values(day, item, found)
    return replace(judged, places=found.places)


def _judge_lack(
    day: RigTimeline, item: Item, lack: MissingInput
) -> Judged | MissingInput:
    """An event without a figure: its window is not known, but a safety check is due."""
    if item.safety and lack.since is not None and day.as_of > lack.since:
        why = (*lack.why, Fact("expected_no_use", {"since": lack.since}))
        return Judged(lack.kind, "due", why, expected=True, places=lack.places)
    return lack


def _judge_days(day: RigTimeline, window: DayWindow) -> Judged:
    opens, closes = window.opens, window.closes
    standing: StandingName = "later"
    if day.as_of > closes:
        standing = "overdue"
    elif day.as_of >= opens:
        standing = "due"
    elif _in_view(day, opens, window.interval_days):
        standing = "soon"
    why = (*window.why, by_days(day.as_of, opens, closes))
    return Judged(window.kind, standing, why, window, likely=closes)


def _in_view(day: RigTimeline, opens: date | None, interval_days: int | None) -> bool:
    """Whether opens lies within the horizon, or within a third of a short interval."""
    if opens is None:
        return False
    ahead = (opens - day.as_of).days
    if interval_days is not None and 3 * ahead > interval_days:
        return False
    return ahead <= day.calendar.horizon_days


def _judge_values(
    day: RigTimeline, item: Item, window: ValueWindow
) -> Judged | MissingInput:
    known = day.tracks[window.meter].known
    expected = _expected(day, window) if item.safety else None
    if known is None:
        why = (*window.why, Fact("no_reading", {"meter": window.meter}))
        if expected is None:
            return MissingInput(window.kind, why)
        return Judged(window.kind, "due", (*why, expected), window, expected=True)
    use = day.use_for(window.meter, window.opens, window.since)
    dates = WindowDates(use.reach(window.opens), use.reach(window.closes))
    standing: StandingName = "later"
    if known > window.closes:
        standing = "overdue"
    elif known >= window.opens:
        standing, expected = "due", None
    elif expected is not None:
        standing = "due"
    elif _in_view(day, dates.opens.likely, None):
        standing = "soon"
    by_expectation = standing == "due" and expected is not None
    return Judged(
        window.kind,
        standing,
        _why_values(day, window, dates, expected if by_expectation else None),
        window,
        dates if dates.opens.late or dates.closes.early else None,
        dates.closes.likely or date.max,
        by_expectation,
    )


def _expected(day: RigTimeline, window: ValueWindow) -> Fact | None:
    """Safety by expectation: from the early date of opens on, or, with no use to go by,
    from the day after its event or last reading. What was read or done on a day says
    otherwise for that day."""
    track = day.tracks[window.meter]
    begin = day.expected_since(window.meter, window.opens, window.since)
    since = day.silent_from(window.meter, begin, window.since)
    if day.as_of <= since:
        return None
    if track.known is not None:
        use = day.use(window.meter, begin)
        early = _early(use, window, clamped=not isinstance(track, TowedTrack))
        if early is not None and early <= day.as_of:
            return Fact("expected_by_use", {"early": early})
        if use.fitted:
            return None
    elif window.kind not in FOLLOW_UPS:
        return None
    # A rig that has stood in a stay ever since has not come nearer.
    days = (day.as_of - since).days
    if track.unit != "h":
        days = day.in_use.days(since, day.as_of)
    return Fact("expected_no_use", {"since": since}) if days > 0 else None


def _early(use: Use, window: ValueWindow, *, clamped: bool) -> date | None:
    """The early day of opens; `clamped`: no day that has gone by."""
    if clamped:
        return use.reach(window.opens).early
    return use.expected_on(window.opens)


def _parked(day: RigTimeline, judged: Sequence[Judged]) -> bool:
    """Whether an open stay keeps every window from coming on."""
    return day.open_stay is not None and all(
        isinstance(one.window, ValueWindow) and day.tracks[one.window.meter].unit != "h"
        for one in judged
    )


# --- what comes out ------------------------------------------------------------------


def _shown(day: RigTimeline, window: OpenWindow | None) -> Window | None:
    if isinstance(window, ValueWindow):
        scale, meter = day.tracks[window.meter].scale, window.meter
        return Window(
            MeterPoint(meter, scale.shown(window.opens)),
            MeterPoint(meter, scale.shown(window.closes)),
        )
    return None if window is None else Window(window.opens, window.closes)


def _pending(day: RigTimeline, judged: Sequence[Judged]) -> tuple[Pending, ...]:
    found = []
    for one in judged:
        shown = _shown(day, one.window)
        if shown is not None and one.window is not None:
            found.append(Pending(one.kind, shown, one.window.places))
    return tuple(found)


def _why_values(
    day: RigTimeline, window: ValueWindow, dates: WindowDates, expected: Fact | None
) -> tuple[Fact, ...]:
    opens, closes, meter = window.opens, window.closes, window.meter
    distance = by_value(day, meter, opens, closes)
    facts = [*window.why, last_reading(day, meter)]
    facts += [fact for fact in (distance, expected) if fact is not None]
    if (known := day.tracks[meter].known) is not None and known <= closes:
        use = day.use_for(meter, opens, window.since)
        facts += reached(dates.opens, dates.closes, use.why)
    return tuple(facts)


def _why(
    day: RigTimeline,
    standing: StandingName,
    governing: Judged,
    judged: Sequence[Judged],
) -> tuple[Fact, ...]:
    facts = list(governing.why)
    if standing == "waiting" and day.open_stay is not None:
        facts.append(Fact("waits_in_stay", {"start": day.open_stay.start}))
        facts += plan_passed(day)
    for one in judged:
        if one is governing or one.window is None:
            continue
        facts.append(_also(day, one.window))
    return tuple(facts)


def _also(day: RigTimeline, window: OpenWindow) -> Fact:
    """Another window of the item, in short."""
    if isinstance(window, DayWindow):
        return Fact("also_by_day", {"closes": window.closes})
    track = day.tracks[window.meter]
    shown = track.scale.shown(window.closes)
    return Fact("also_by_value", {"closes": shown, "unit": track.unit})
