"""The next 60 days, a lane for each rig, and the same as a list."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from maintenance.core.lanes import Lane, Span, lane_of
from maintenance.plans.models import Standing, StandingName, short_title
from maintenance.ui.bars import LANE_BEFORE
from maintenance.ui.local import first_weekday
from maintenance.ui.words import near_days_words
from maintenance.vehicles.models import Rig, Stay, Trip

from .facts import DueFacts, later_jobs


@dataclass(frozen=True)
class LaneShown:
    """`where` says where the rig is; `stays` are hatched; `trip` is the next one."""

    rig: Rig
    where: str
    lane: Lane
    stays: list[tuple[date, date]]
    trip: Trip | None
    is_stored: bool


@dataclass(frozen=True)
class Entry:
    """A line of the list: `when`, what, on which rig."""

    day: date
    when: str
    what: str
    rig: str


def lanes_of(facts: DueFacts) -> list[LaneShown]:
    return [_lane(facts, rig) for rig in facts.rigs]


def _lane(facts: DueFacts, rig: Rig) -> LaneShown:
    stays = [stay for stay in rig.stays.all() if not stay.withdrawn]
    now = facts.states[rig.pk].stay
    return LaneShown(
        rig=rig,
        where=_where(now, facts.today),
        lane=lane_of(
            _spans(facts, rig),
            today=facts.today,
            last=facts.last,
            first_weekday=first_weekday(),
        ),
        stays=[span for stay in stays if (span := _span(stay, facts)) is not None],
        trip=_next_trip(rig, facts.today),
        is_stored=now is not None,
    )


def _next_trip(rig: Rig, today: date) -> Trip | None:
    """The first still to come that it drives, tows or is towed on."""
    trips = (*rig.trips.all(), *rig.tows.all(), *rig.towed_on.all())
    ahead = [one for one in trips if one.start > today and not one.withdrawn]
    return min(ahead, key=lambda one: (one.start, one.pk), default=None)


def _where(stay: Stay | None, today: date) -> str:
    if stay is None:
        return ""
    until = stay.planned_until
    to = f" to {near_days_words(until, today=today)}" if until else ""
    return f"{stay.place or 'in storage'}{to}"


def _span(stay: Stay, facts: DueFacts) -> tuple[date, date] | None:
    end = stay.ended_on or stay.planned_until or facts.last
    if stay.ended_on is None and stay.planned_until and end < facts.today:
        end = facts.today
    start = max(stay.start, facts.today - LANE_BEFORE)
    return (start, min(end, facts.last)) if start <= min(end, facts.last) else None


def _spans(facts: DueFacts, rig: Rig) -> Iterator[Span]:
    for one in facts.standings:
        if one.item.rig_id == rig.pk and one.standing != StandingName.UNKNOWN:
            span = _of_standing(one, facts)
            if span is not None:
                yield span
    for job in later_jobs(facts, rig):
        if job.opens and job.closes and job.opens <= job.closes:
            name = short_title(job.key, job.title)
            shop = facts.by_shop(job.key)
            yield Span(name, job.opens, job.closes, shop, job.safety)


def _of_standing(one: Standing, facts: DueFacts) -> Span | None:
    opens, closes = one.opens_on, one.closes_on
    if closes is None:
        return None
    item = one.item
    start = min(opens or closes, closes)
    return Span(item.short, start, closes, facts.by_shop(item.key), item.safety)


def entries_of(facts: DueFacts, lanes: Iterable[LaneShown]) -> list[Entry]:
    """What the lanes show, by the day on which it closes; then the trips."""
    found = [
        Entry(closes, when, what, shown.rig.name)
        for shown in lanes
        for closes, when, what in _said(shown.lane, facts.today)
    ]
    trips = {x.trip.pk: x.trip for x in lanes if x.trip is not None}
    found += [
        Entry(
            trip.start,
            near_days_words(trip.start, today=facts.today),
            f"leave for {trip.title}" if trip.title else "leave on a trip",
            next(rig.name for rig in facts.rigs if rig.pk == trip.rig_id),
        )
        for trip in trips.values()
    ]
    return sorted(found, key=lambda one: one.day)


def _said(lane: Lane, today: date) -> Iterator[tuple[date, str, str]]:
    for one in lane.windows:
        if one.opens > today:
            words = near_days_words(one.opens, one.closes, today=today)
        else:
            words = f"by {near_days_words(one.closes, today=today)}"
        yield one.closes, words, one.name
    for block in lane.blocks:
        words = near_days_words(block.begins, block.ends, today=today)
        yield block.ends, words, ", ".join(block.names)
