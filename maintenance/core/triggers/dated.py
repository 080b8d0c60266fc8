"""Rules that hang on given days: seasons, trips, and the life of a part."""

from datetime import date, timedelta

from maintenance.core.dates import add_span, latest_season, month_end, season_of
from maintenance.core.facts import BeforeTrip, Fact, Life, Season
from maintenance.core.rigday import RigDay
from maintenance.core.triggers.windows import DayWindow, Found, History, Lack
from maintenance.core.why import happened, window_of_days

SEASON_EARLY = timedelta(days=30)
LIFE_LEAD = timedelta(days=90)


def season(day: RigDay, history: History, trigger: Season) -> Found:
    """The season itself is the window; one completion from 30 days before it settles
    it, and a missed one stays until the next of its kind opens."""
    ends = day.calendar.spring if trigger.name == "spring" else day.calendar.autumn
    year = latest_season(day.as_of, ends)[0].year
    while True:
        opens, closes = season_of(year, ends)
        answers = opens > day.as_of or _answers(day, history, closes)
        if answers and not history.since(opens - SEASON_EARLY):
            break
        year += 1
    last = history.last_on
    facts = (
        *(() if last is None else _last_done(day, history)),
        Fact("season", {"name": trigger.name, "opens": opens, "closes": closes}),
    )
    window = DayWindow("season", opens, closes, why=facts)
    return Found((window,))


def _answers(day: RigDay, history: History, closes: date) -> bool:
    """Whether the item answers for a season that has opened and closes then."""
    taken_on = history.item.taken_on
    if taken_on is not None:
        return closes >= taken_on
    starts = [] if history.first_on is None else [history.first_on]
    if history.baseline is not None:
        starts.append(history.baseline.on)
    return closes >= (min(starts) if starts else day.as_of)


def _last_done(day: RigDay, history: History) -> tuple[Fact, ...]:
    base = history.done[-1]
    return happened("done", day, on=base.on, until=base.until, values={}, meter=None)


def before_trip(day: RigDay, history: History, trigger: BeforeTrip) -> Found:
    """Before the first trip not yet ended that nothing was done for."""
    lead = timedelta(days=trigger.lead)
    trips = sorted(day.rig.trips, key=lambda one: (one.start, one.end))
    for trip in trips:
        opens = trip.start - lead
        if trip.end < day.as_of or history.since(opens):
            continue
        facts = (
            Fact("trip", {"start": trip.start, "end": trip.end}),
            window_of_days(opens, trip.start),
        )
        return Found((DayWindow("before_trip", opens, trip.start, why=facts),))
    return Found(idle=(Fact("no_trip", {}),))


def life(_day: RigDay, _history: History, trigger: Life) -> Found:
    """Counts from the given date alone: work done on the part does not renew it."""
    if trigger.start is None:
        return Found(lacks=(Lack("life", (Fact("no_life_start", {}),)),))
    closes = add_span(trigger.start, trigger.length)
    if trigger.month_only:
        closes = month_end(closes)
    opens = closes - LIFE_LEAD
    facts = (
        Fact(
            "life",
            {
                "months": trigger.length.months,
                "start": trigger.start,
                "month_only": "yes" if trigger.month_only else "",
            },
        ),
        window_of_days(opens, closes),
    )
    return Found((DayWindow("life", opens, closes, why=facts),))
