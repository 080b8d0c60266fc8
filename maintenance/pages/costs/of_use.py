"""What use costs: per distance, per night away, and how far the fuel goes."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from maintenance.core.calculators.answers import Answer, CalculatorError
from maintenance.core.calculators.cost import cost_per_distance, cost_per_night
from maintenance.core.meters.track import Track
from maintenance.core.timeline import RigTimeline
from maintenance.ui.words import money_words
from maintenance.vehicles.fuel import economy, fills_of
from maintenance.vehicles.models import FuelStop, Rig, Trip
from maintenance.vehicles.queries import RigFacts

from .spent import Spent

NOTHING = Decimal(0)


@dataclass(frozen=True)
class RigCost:
    """Each answer is None where there is nothing to reckon it with. What was spent
    before the first reading, on `since`, is no cost of the distance after it."""

    rig: Rig
    since: date | None
    per_distance: Answer | None
    per_night: Answer | None
    economy: Answer | None


def rig_costs(
    rigs: Sequence[Rig],
    known: Mapping[int, RigFacts],
    stops: Iterable[FuelStop],
    spent: Iterable[Spent],
    *,
    currency: str,
    today: date,
) -> list[RigCost]:
    tracks = {rig.pk: _tracks(rig, known[rig.pk], today) for rig in rigs}
    fills, nights = fills_of(stops, tracks), _nights(rigs, today)
    rows = [row for row in spent if row.currency == currency]
    return [
        RigCost(
            rig=rig,
            since=track.days[0] if track else None,
            per_distance=_per_distance(own, track, currency),
            per_night=_per_night(own, nights[rig.pk], currency),
            economy=economy(fills[rig.pk], track),
        )
        for rig in rigs
        for own in [[row for row in rows if row.rig == rig.pk]]
        for track in [_distance(tracks[rig.pk])]
    ]


def _tracks(rig: Rig, known: RigFacts, today: date) -> dict[str, Track]:
    return RigTimeline(known.without_items(), rig.household.calendar, today).tracks


def _distance(tracks: dict[str, Track]) -> Track | None:
    """The meter of distance, if it was ever read."""
    return next((t for t in tracks.values() if t.unit != "h" and t.days), None)


def _per_distance(
    own: Iterable[Spent], track: Track | None, currency: str
) -> Answer | None:
    if track is None:
        return None
    cost = sum((row.amount for row in own if row.on >= track.days[0]), NOTHING)
    driven = track.values[-1] - track.values[0]
    if not cost:
        return None
    words = partial(money_words, currency=currency)
    return _or_none(
        lambda: cost_per_distance(cost, driven, unit=track.unit, money_words=words)
    )


def _per_night(own: Iterable[Spent], nights: int, currency: str) -> Answer | None:
    cost = sum((row.amount for row in own), NOTHING)
    if not cost:
        return None
    words = partial(money_words, currency=currency)
    return _or_none(lambda: cost_per_night(cost, nights, money_words=words))


def _nights(rigs: Sequence[Rig], today: date) -> dict[int, int]:
    """Nights away on trips up to today."""
    found = {rig.pk: 0 for rig in rigs}
    for trip in Trip.objects.filter(rig__in=rigs, start__lt=today, withdrawn=False):
        found[trip.rig_id] += (min(trip.end, today) - trip.start).days
    return found


def _or_none(reckon: Callable[[], Answer | None]) -> Answer | None:
    """No distance, no night, or fuel stops that do not fit, give no figure."""
    try:
        return reckon()
    except CalculatorError:
        return None
