"""The trip sheet: what to do before, on the way and after, and what to take along."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from maintenance.core.facts import Trip as TripFact
from maintenance.core.triggers import FOLLOW_UPS
from maintenance.core.tripwork import TripJob, TripLook, look_ahead
from maintenance.findings.fitness import Reason, account_of
from maintenance.findings.queries import unfit_findings
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.habits import kept_habits
from maintenance.plans.models import PlanItem, Standing
from maintenance.plans.queries import load_rigs, procedures_of, standings_of
from maintenance.plans.rows import Row, row_of
from maintenance.ui.words import WHO_WORDS
from maintenance.vehicles.models import Rig, Trip

from .carry import Carry, Used, carry_for
from .checklist import Checklist, checklist_of
from .load import Load, load_of
from .words import again_words, job_words


@dataclass(frozen=True, slots=True)
class Line:
    """One job: when at the latest, where, and why then."""

    item: PlanItem
    job: TripJob
    when: str
    about: str
    again: str
    who: str
    minutes: int


@dataclass(frozen=True, slots=True)
class TripSheet:
    trip: Trip
    today: date
    stops: list[Reason]
    not_legal: list[Reason]
    put_off: list[Row]
    before: list[Line]
    road: list[Line]
    after: list[Line]
    checklist: Checklist
    carry: Carry
    load: Load | None
    no_record: int

    @property
    def is_over(self) -> bool:
        return self.trip.end < self.today


@dataclass(frozen=True, slots=True)
class _Known:
    """What the parts of the sheet are made from, loaded once."""

    trip: Trip
    today: date
    looks: dict[int, TripLook]
    standings: list[Standing]  # in the order of Due
    items: dict[str, PlanItem]
    procedures: Mapping[str, Procedure]

    def procedure(self, item: PlanItem) -> Procedure | None:
        return self.procedures.get(item.key)


def trip_sheet(trip: Trip, today: date) -> TripSheet:
    """All of it, in a number of queries that does not grow with the items."""
    known = _known(trip, today)
    findings = unfit_findings(trip.rig.household).filter(rig__in=known.looks)
    findings = findings.order_by("found_on", "pk")
    fitness = account_of(known.standings, findings, today).values()
    lines = _lines(known)
    by_place: dict[str, list[Line]] = {"before": [], "road": [], "after": []}
    for line in lines:
        by_place[_place(line, known)].append(line)
    checklist = checklist_of(
        trip, known.looks, known.items, known.procedures, load_library().lap
    )
    used = [Used(one.item, 1 + one.job.again) for one in by_place["road"]]
    used += [Used(one.item, one.job.again) for one in by_place["before"]]
    used += [
        Used(one.item, 1)
        for stop in checklist.first_stop
        for one in stop.checks
        if one.item
    ]
    return TripSheet(
        trip=trip,
        today=today,
        stops=[why for one in fitness for why in one.unfit],
        not_legal=[why for one in fitness for why in one.not_legal],
        put_off=[row_of(one, today) for one in known.standings if one.deferred_why],
        before=by_place["before"],
        road=by_place["road"],
        after=by_place["after"],
        checklist=checklist,
        carry=carry_for([one for one in used if one.times], trip, known.procedures),
        load=load_of(trip),
        no_record=sum(look.no_record for look in known.looks.values()),
    )


def _known(trip: Trip, today: date) -> _Known:
    rigs = trip.travelers
    household = trip.rig.household
    facts, kept = load_rigs(rigs, today), kept_habits(rigs)
    looks = {
        rig.pk: look_ahead(
            facts[rig.pk],
            _fact_of(trip, facts[rig.pk].trips, rig),
            calendar=household.calendar,
            as_of=today,
            kept=kept[rig.pk],
        )
        for rig in rigs
    }
    standings = list(standings_of(household).filter(item__rig__in=rigs))
    rows = PlanItem.objects.active().filter(rig__in=rigs)
    items = {str(item.pk): item for item in rows.select_related("rig", "standing")}
    return _Known(trip, today, looks, standings, items, procedures_of(household))


def _fact_of(trip: Trip, facts: Sequence[TripFact], rig: Rig) -> TripFact:
    """The trip as the rig's own facts have it: a towed car counts it otherwise."""
    return next(
        one
        for one in facts
        if (one.start, one.end, one.distance) == (trip.start, trip.end, trip.distance)
    )


def _lines(known: _Known) -> list[Line]:
    found = [
        _line(known, known.items[job.key], job)
        for look in known.looks.values()
        for job in _besides_checks(look)
    ]
    return sorted(found, key=lambda line: (line.job.closes or date.min, line.item.pk))


def _besides_checks(look: TripLook) -> Iterable[TripJob]:
    """What is looked at before every trip anyway need not stand there twice."""
    checked = {check.key for check in look.checks}
    for job in look.jobs:
        asked = job.standing in ("overdue", "unknown") or job.again
        if asked or job.place != "before" or job.key not in checked:
            yield job


def _line(known: _Known, item: PlanItem, job: TripJob) -> Line:
    procedure = known.procedure(item)
    by_shop = procedure is not None and procedure.by_shop
    wait = known.trip.rig.household.shop_wait_days if by_shop else None
    when, about = job_words(job, known.trip, known.today, wait)
    return Line(
        item=item,
        job=job,
        when=when,
        about=about,
        again=again_words(job, item),
        who=WHO_WORDS[procedure.who] if procedure else "",
        minutes=procedure.minutes if procedure else 0,
    )


def _place(line: Line, known: _Known) -> str:
    """A shop's job that would come due on the way is done before, where the household's
    own shop is; what an event raised keeps its miles."""
    procedure = known.procedure(line.item)
    by_shop = procedure is not None and procedure.by_shop
    if line.job.place == "road" and by_shop and line.job.kind not in FOLLOW_UPS:
        return "before"
    return line.job.place
