"""What items cost in minutes a year, in words, and the year it is reckoned with."""

from datetime import date
from decimal import Decimal

from maintenance.core.meters import RunTrack, Track
from maintenance.core.timeline import RigTimeline
from maintenance.core.units import convert, show
from maintenance.core.words import counted
from maintenance.library.effort import YearOfUse
from maintenance.vehicles.models import HOUR_METERS, MeterKind, Rig
from maintenance.vehicles.queries import RigFacts, use_facts

LEAST_DAYS = 180  # of service, before the rig's own use says anything of a year
# Our own assumption where a rig's readings do not tell yet.
ASSUMED = {
    MeterKind.ODOMETER: (Decimal(5000), "mi"),
    MeterKind.TOWED: (Decimal(3000), "mi"),
    MeterKind.ENGINE: (Decimal(150), "h"),
    MeterKind.GENERATOR: (Decimal(50), "h"),
}


def year_of(
    rig: Rig, today: date, known: RigFacts | None = None
) -> tuple[YearOfUse, str]:
    """A year of the rig, and the sentence that says how it is reckoned. `known`: its
    facts, where they were loaded before."""
    known = known or use_facts([rig], today)[rig.pk]
    day = RigTimeline(known.without_items(), rig.household.calendar, today)
    counts, words = {}, []
    for kind in known.meters:
        track = day.tracks[kind]
        served = (today - _counted_since(rig, track)).days
        start = known.in_service.values.get(kind, Decimal(0))
        own = (track.known or Decimal(0)) - start
        if served >= LEAST_DAYS and own > 0:
            counts[kind] = _round(own * 365 / served)
            template = "%(n)s a year, as so far"
        else:
            value, unit = ASSUMED[MeterKind(kind)]
            counts[kind] = _round(convert(value, unit, track.unit))
            template = "%(n)s a year (assumed)"
        words.append(template % {"n": _of(kind, show(counts[kind], track.unit))})
    units = {kind: str(track.unit) for kind, track in day.tracks.items()}
    year = YearOfUse(units, counts)
    return year, _sentence(year, words)


def _counted_since(rig: Rig, track: Track) -> date:
    """A log of runs knows nothing of the time before it."""
    if isinstance(track, RunTrack) and track.days:
        return track.days[0]
    return rig.in_service_on


def _round(value: Decimal) -> Decimal:
    """To two digits: more would feign a precision that it does not have."""
    places = max(0, value.adjusted() - 1)
    return value.quantize(Decimal(1).scaleb(places))


def _of(kind: str, shown: str) -> str:
    if kind not in HOUR_METERS:
        return shown
    names = {"engine": "engine", "generator": "generator"}
    return f"{shown} of the {names[kind]}"


def _sentence(year: YearOfUse, meters: list[str]) -> str:
    parts = [
        *meters,
        f"one stay of {year.stored_days} days",
        counted(year.trips, "trip"),
    ]
    return (
        f"Based on {', '.join(parts)}. A job due by distance or date counts "
        "by whichever comes more often. Jobs that follow an event aren't "
        "counted."
    )


def effort_in_words(minutes: int, times: Decimal, *, on_event: bool) -> str:
    """“10 minutes, 4 times a year”, “60 minutes, every 3 years”."""
    shown = counted(minutes, "minute")
    if on_event:
        return f"{shown} each time it happens"
    if times == 0:
        return f"{shown} when needed"
    return f"{shown}, {_often(times)}"


def _often(times: Decimal) -> str:
    if times < Decimal("0.75"):
        years = round(1 / times)
        return "every year" if years == 1 else f"every {years} years"
    count = round(times)
    if count == 1:
        return "once a year"
    return f"{count} times a year"


def hours_in_words(minutes: Decimal) -> str:
    """A sum of minutes, as coarse as it is meant: “40 minutes”, “12 hours”."""
    if minutes < 90:
        count = round(minutes)
        return counted(count, "minute")
    count = round(minutes / 60)
    return counted(count, "hour")
