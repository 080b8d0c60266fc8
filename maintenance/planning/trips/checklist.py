"""What is looked at on every trip: the days before, the lap of the departure, the first
stop, camp."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from maintenance.core.departure import Lap, Look, lap_of
from maintenance.core.tripwork import TripCheck, TripLook
from maintenance.library.model import LapLook, LapStop, Procedure
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig, Trip

# Key and rig -> its items that are due before every trip, a row for each part.
Asked = dict[tuple[str, int], list[tuple[PlanItem, TripCheck]]]


@dataclass(frozen=True, slots=True)
class Check:
    """`item` is None where it is not on the plan of the rig; `look` says in a sentence
    what is looked at. `done_on`: it counts already."""

    key: str
    rig: Rig
    title: str
    item: PlanItem | None
    opens: date | None
    done_on: date | None
    look: str
    minutes: int
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    covers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """The checks at one place, in their order."""

    title: str
    when: str
    checks: tuple[Check, ...]


@dataclass(frozen=True, slots=True)
class Checklist:
    """`minutes` is the lap's, `left` what of it does not count already."""

    stops: tuple[Stop, ...]
    minutes: int
    left: int

    def at(self, when: str) -> list[Stop]:
        return [stop for stop in self.stops if stop.when == when]

    @property
    def days_before(self) -> list[Stop]:
        return self.at("days_before")

    @property
    def lap(self) -> list[Stop]:
        return self.at("lap")

    @property
    def first_stop(self) -> list[Stop]:
        return self.at("first_stop")

    @property
    def camp(self) -> list[Stop]:
        return self.at("camp")


def checklist_of(
    trip: Trip,
    looks: Mapping[int, TripLook],
    items: Mapping[str, PlanItem],
    procedures: Mapping[str, Procedure],
    lap: tuple[LapStop, ...],
) -> Checklist:
    """Each check of each rig that travels, at its stop, in the order of the walk."""
    asked: Asked = defaultdict(list)
    for look in looks.values():
        for one in look.checks:
            item = items[one.key]
            asked[item.key, item.rig_id].append((item, one))
    stops, laps = [], []
    for stop in lap:
        checks = [
            check
            for look in stop.looks
            if (procedure := procedures.get(look.procedure))
            for check in _at_a_look(trip, procedure, look, stop.when, asked)
        ]
        found = _walk(checks)
        kept = {(one.rig, one.key) for one in found.looks}
        left = tuple(one for one in checks if (one.rig.pk, one.key) in kept)
        stops.append(Stop(stop.title, stop.when, left))
        laps += [found] if stop.when == "lap" else []
    # No place on the rig is known of what the household asks for itself.
    own = tuple(_own(*one) for several in asked.values() for one in several)
    stops.append(Stop("Your own checks", "days_before", own))
    return Checklist(
        tuple(stop for stop in stops if stop.checks),
        sum(one.minutes for one in laps),
        sum(one.left for one in laps),
    )


def _walk(checks: list[Check]) -> Lap:
    return lap_of(
        Look(one.rig.pk, one.key, one.minutes, one.covers, one.done_on)
        for one in checks
    )


def _at_a_look(
    trip: Trip, procedure: Procedure, look: LapLook, when: str, asked: Asked
) -> list[Check]:
    """Where one look serves all rigs, its minutes stand with the first one left."""
    checks = list(_checks(trip, procedure, look, when, asked))
    if not look.together or not checks:
        return checks
    bears = next((one for one in checks if one.done_on is None), checks[0])
    return [one if one is bears else replace(one, minutes=0) for one in checks]


def _checks(
    trip: Trip, procedure: Procedure, look: LapLook, when: str, asked: Asked
) -> Iterator[Check]:
    """Those of each rig that has it on its plan, one for each part (two alarms); takes
    them out of `asked`."""
    for rig in trip.travelers:
        found = asked.pop((procedure.key, rig.pk), [])
        for item, check in found:
            yield _check(rig, procedure, look, when, (item, check))
        on_the_lap = look.always and rig == trip.rig and procedure.suits(rig.kind)
        if on_the_lap and not found:
            yield _check(rig, procedure, look, when)


def _check(
    rig: Rig,
    procedure: Procedure,
    look: LapLook,
    when: str,
    on_plan: tuple[PlanItem, TripCheck] | None = None,
) -> Check:
    item, check = on_plan or (None, None)
    done_on = None
    if check is not None and when == "lap":
        done_on = check.that_day if look.that_day else check.counts_on
    elif check is not None:
        done_on = check.done_on
    return Check(
        key=procedure.key,
        rig=rig,
        title=item.title if item else procedure.title,
        item=item,
        opens=check.opens if check else None,
        done_on=done_on,
        look=look.look,
        minutes=look.minutes or procedure.minutes,
        steps=procedure.steps if look.with_steps else (),
        cautions=_cautions(procedure, look, when),
        covers=procedure.renews,
    )


def _cautions(procedure: Procedure, look: LapLook, when: str) -> tuple[str, ...]:
    """All of them before its steps; the first, its gravest, with a look of the lap;
    else they stand with the job."""
    if look.with_steps:
        return procedure.cautions
    return procedure.cautions[:1] if when == "lap" else ()


def _own(item: PlanItem, check: TripCheck) -> Check:
    """A check that the household made itself."""
    return Check(
        key=item.key,
        rig=item.rig,
        title=item.title,
        item=item,
        opens=check.opens,
        done_on=check.done_on,
        look="",
        minutes=0,
        steps=(),
        cautions=(),
        covers=(),
    )
