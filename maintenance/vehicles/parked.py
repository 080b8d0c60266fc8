"""A rig that only stands: no reading, fuel stop or trip for ten days, and nobody said
that it is in storage. Asked once; a yes makes the stay, dated back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, Subquery, prefetch_related_objects

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import Reading, Rig, Stay, Trip
from .queries import rigs_of
from .services import start_stay
from .state import STATE_ROWS, state_of, trips_with

# Common practice: a battery on its standing loads is looked at within two weeks.
QUIET = timedelta(days=10)
SILENT = timedelta(days=30)  # after “no, it is in use”


@dataclass(frozen=True, slots=True)
class Parked:
    """`since` is the last day of which anything is known. `asked_for`: from when on it
    counts as quiet, so that the same silence is asked about once."""

    rig: Rig
    since: date
    asked_for: date

    @property
    def question(self) -> str:
        return (
            f"{self.rig}: no reading, fuel stop or trip since {day_words(self.since)}. "
            "Parked since then?"
        )


def parked_rigs(household: Household, today: date) -> list[Parked]:
    return parked_among(with_last_use(household, today), today)


def with_last_use(
    household: Household, today: date, *, states: bool = False
) -> list[Rig]:
    """The rigs, each with the last day of a reading, of a trip that it had any part in
    and of a stay, in one query. Of those that something may be asked of, quiet ones
    and those in storage, also the rows of `state_of`; with `states`, of all."""
    readings = Reading.objects.filter(
        meter__rig=OuterRef("pk"), withdrawn=False, doubtful=False, on__lte=today
    )
    mine = Q(rig=OuterRef("pk"))
    mine |= Q(tow_vehicle=OuterRef("pk")) | Q(towed_car=OuterRef("pk"))
    trips = Trip.objects.filter(mine, start__lte=today, withdrawn=False)
    stays = Stay.objects.filter(rig=OuterRef("pk"), withdrawn=False)
    left = stays.filter(ended_on__lte=today).order_by("-ended_on")
    rigs = rigs_of(household).annotate(
        read_on=Subquery(readings.order_by("-on").values("on")[:1]),
        driven_on=Subquery(trips.order_by("-end").values("end")[:1]),
        left_on=Subquery(left.values("ended_on")[:1]),
        is_stored=Exists(stays.filter(ended_on=None, start__lte=today)),
    )
    asked = [rig for rig in rigs if states or rig.is_stored or _asked_now(rig, today)]
    prefetch_related_objects(asked, *STATE_ROWS)
    return list(rigs)


def parked_among(rigs: Iterable[Rig], today: date) -> list[Parked]:
    """Of a rig of which nothing is known at all, nobody could say since when."""
    quiet = [one for rig in rigs if (one := _asked_now(rig, today))]
    return [one for one in quiet if state_of(one.rig, today).name == "in_use"]


def asked_next(rigs: Iterable[Rig], today: date) -> date:
    """The next day on which another of the rigs of `with_last_use` will have been
    quiet for so long."""
    found = map(_quiet, rigs)
    days = [_asks_on(one) for one in found if one]
    return min((day for day in days if day > today), default=date.max)


def _asked_now(rig: Rig, today: date) -> Parked | None:
    one = _quiet(rig)
    return one if one and _asks_on(one) <= today else None


def _asks_on(one: Parked) -> date:
    return one.asked_for + QUIET


def _quiet(rig: Rig) -> Parked | None:
    """Of a rig that `with_last_use` gave."""
    known = [getattr(rig, name) for name in ("read_on", "driven_on", "left_on")]
    last = max(filter(None, known), default=None)
    if last is None:
        return None
    said = rig.said_in_use_on
    # Ten days before its month of silence ends, so that it is asked when that is over.
    silent_until = said + SILENT - QUIET if said is not None else date.min
    return Parked(rig, last, max(last, silent_until))


@transaction.atomic
def park(rig: Rig, *, by: Member, today: date) -> Stay:
    """It stands since it was last used: a stay from that day on, until what is planned
    next. Its traps, batteries and visits come on by the rules of the stay."""
    require(by, Role.CREW)
    asked = next((x for x in parked_rigs(rig.household, today) if x.rig == rig), None)
    if asked is None:
        raise Refused(f"{rig} was used in the last few days, or is already in storage.")
    coming = {"start__gt": today, "withdrawn": False}
    ahead = [
        *trips_with(rig).filter(**coming).values_list("start", flat=True),
        *rig.stays.filter(**coming).values_list("start", flat=True),
    ]
    until = min(ahead, default=None)
    return start_stay(rig, by=by, today=today, start=asked.since, planned_until=until)


@transaction.atomic
def say_in_use(rig: Rig, *, by: Member, today: date) -> None:
    """It is driven, though nobody enters it: not asked again for a month."""
    require(by, Role.CREW)
    Rig.objects.filter(pk=rig.pk).update(said_in_use_on=today)
    note_activity(by, "entered in use", rig.name)
