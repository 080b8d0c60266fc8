"""A rig's page: what it is, what stops it, where its work is, its meters, its parts."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from maintenance.core.units import show
from maintenance.findings.fitness import Fitness, account_of
from maintenance.findings.models import Finding
from maintenance.findings.queries import open_findings
from maintenance.findings.zones import entries
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.aging import Aging, aging_of
from maintenance.plans.models import Standing, StandingName
from maintenance.plans.queries import plan_of
from maintenance.plans.rows import row_of
from maintenance.service_records.models import ServiceRecord
from maintenance.ui.drawings import PLACES
from maintenance.ui.words import WHO_WORDS, minutes_words, near_days_words
from maintenance.vehicles.models import Meter, MeterKind, Reading, Rig, Trip
from maintenance.vehicles.not_towed import TowedSince, asks_towed
from maintenance.vehicles.queries import readings_of
from maintenance.vehicles.runs import logged_words
from maintenance.vehicles.state import RigState, state_of, trips_with

LINES = 3  # jobs that a place shows at once
ALONE = 3  # safety jobs without a record that stand in their place; more are counted
NEXT = 4
WORST = ("unfit", "overdue", "fault", "due", "unknown", "soon")
ELSEWHERE = "elsewhere"


@dataclass(frozen=True)
class MeterLine:
    """A meter with its last good reading."""

    meter: Meter
    last: Reading | None
    runs: str = ""  # what its log says, where no meter shows it

    @property
    def by_trips(self) -> bool:
        """No meter shows what the trailer was towed (`Meter.by_trips`)."""
        return self.may_get_hub and not self.may_lose_hub

    @property
    def asks_hub(self) -> bool:
        """Readings of towed distance count as a hub meter's, and nobody said that the
        rig has one."""
        is_towed = self.meter.kind == MeterKind.TOWED
        return is_towed and self.last is not None and not self.meter.hub_confirmed_on

    @property
    def may_lose_hub(self) -> bool:
        return bool(self.meter.hub_confirmed_on)

    @property
    def may_get_hub(self) -> bool:
        is_towed = self.meter.kind == MeterKind.TOWED
        return is_towed and self.meter.rig.is_trailer and self.last is None

    @property
    def label(self) -> str:
        """What its field is called: where no meter counts, the use is typed."""
        if self.meter.by_runs:
            return "Hours it ran today"
        return "Distance towed since then" if self.by_trips else "New reading"


@dataclass(frozen=True)
class Job:
    """A job or a finding at a place. `standing` is its mark, `when` by when it is."""

    title: str
    page: str
    pk: int
    standing: str
    when: str = ""
    minutes: str = ""
    who: str = ""
    safety: bool = False
    deferred: str = ""


@dataclass
class Place:
    """A part of the rig with the jobs there, the worst first."""

    key: str
    title: str
    number: int = 0
    jobs: list[Job] = field(default_factory=list)

    @property
    def worst(self) -> str:
        return min((job.standing for job in self.jobs), key=WORST.index)

    @property
    def is_red(self) -> bool:
        return self.worst in {"unfit", StandingName.OVERDUE}

    @property
    def shown(self) -> list[Job]:
        return self.jobs[:LINES] if len(self.jobs) > LINES + 1 else self.jobs

    @property
    def more(self) -> list[Job]:
        return self.jobs[len(self.shown) :]


@dataclass(frozen=True)
class Unknown:
    """Jobs that nobody has said yet when they were last done."""

    jobs: int
    safety: int


@dataclass(frozen=True)
class Ahead:
    """What comes next: jobs that share a window, or a trip."""

    when: str
    title: str
    page: str
    pk: int
    more: int = 0


@dataclass(frozen=True)
class RigPage:
    rig: Rig
    meters: list[MeterLine]
    logs_runs: bool
    doubtful: list[Reading]
    places: list[Place]
    unknown: Unknown | None
    ahead: list[Ahead]
    later: int
    waiting: int
    aging: Aging | None
    records: list[ServiceRecord]
    state: RigState
    towed: TowedSince | None  # asked
    fitness: Fitness | None
    is_planned: bool


def rig_page(rig: Rig, today: date) -> RigPage:
    readings = list(readings_of(rig))
    meters = list(rig.meters.all())
    for meter in meters:
        meter.rig = rig  # known: no query for each
    trips = list(trips_with(rig).filter(withdrawn=False))
    state = state_of(rig, today, trips)
    plan = list(plan_of(rig).select_related("item__component"))
    findings = list(open_findings(rig.household).filter(rig=rig))
    lines = [_line(meter, readings) for meter in meters]
    is_towed_car = any(
        trip.towed_car_id == rig.pk and not trip.towed_car_counts for trip in trips
    )
    told = any(line.by_trips for line in lines) if rig.is_trailer else is_towed_car
    records = rig.records.filter(merged_into=None)
    return RigPage(
        rig=rig,
        meters=lines,
        logs_runs=logs_runs(rig, meters),
        doubtful=[row for row in readings if row.doubtful],
        places=_places(rig, plan, findings, today),
        unknown=_unknown(plan),
        ahead=_ahead(plan, trips, today),
        later=sum(one.standing == StandingName.LATER for one in plan),
        waiting=sum(one.standing == StandingName.WAITING for one in plan),
        aging=aging_of(plan, today),
        records=list(records.prefetch_related("lines")[:5]),
        state=state,
        towed=asks_towed(rig, today, told) if state.name == "in_use" else None,
        fitness=account_of(plan, findings, today).get(rig.pk),
        is_planned=bool(plan),
    )


def _line(meter: Meter, readings: list[Reading]) -> MeterLine:
    good = (r for r in readings if r.meter_id == meter.pk and not r.doubtful)
    return MeterLine(
        meter,
        next(good, None),
        runs=logged_words(meter) if meter.by_runs else "",
    )


def logs_runs(rig: Rig, meters: Iterable[Meter]) -> bool:
    """Whether its generator has no hour meter, so that its runs are logged."""
    for meter in meters:
        if meter.kind == MeterKind.GENERATOR:
            return meter.by_runs
    known = load_library().equipment
    has = [known[key] for key in rig.equipment if key in known]
    return any(one.hours == MeterKind.GENERATOR for one in has)


# --- where things stand ---------------------------------------------------------------


def _asks(standing: Standing) -> bool:
    names = (StandingName.OVERDUE, StandingName.DUE, StandingName.SOON)
    return standing.standing in names or standing.is_check_ahead or standing.unfit


def _unknown_safety(plan: Iterable[Standing]) -> list[Standing]:
    unknown = StandingName.UNKNOWN
    return [one for one in plan if one.standing == unknown and one.item.safety]


def _unknown(plan: list[Standing]) -> Unknown | None:
    """None where each stands in its place."""
    jobs = sum(one.standing == StandingName.UNKNOWN for one in plan)
    safety = len(_unknown_safety(plan))
    return Unknown(jobs, safety) if jobs > safety or safety > ALONE else None


def _places(
    rig: Rig, plan: list[Standing], findings: list[Finding], today: date
) -> list[Place]:
    """Those of the rig with something to do, numbered in the order of the drawing; what
    belongs to no place comes last, without a number."""
    library = load_library()
    places = {key: Place(key, title) for key, title in PLACES.items()}
    places[ELSEWHERE] = Place(ELSEWHERE, "The whole rig")
    systems = {key: one.place or ELSEWHERE for key, one in library.systems.items()}
    shown = [one for one in plan if _asks(one)]
    unknown = _unknown_safety(plan)
    shown += unknown if len(unknown) <= ALONE else []
    for standing in shown:
        key = systems.get(standing.item.system, ELSEWHERE)
        procedure = library.procedures.get(standing.item.key)
        places[key].jobs.append(_job(standing, procedure, today))
    zones = {entry.key: systems.get(entry.system, ELSEWHERE) for entry in entries()}
    on_plan = {standing.item_id for standing in shown}
    for finding in findings:
        if finding.item_id not in on_plan:
            place = places[zones.get(finding.zone, ELSEWHERE)]
            place.jobs.append(_found(finding, today))
    found = [place for place in places.values() if place.jobs]
    for number, place in enumerate(found, 1):
        place.number = number if place.key != ELSEWHERE else 0
        place.jobs.sort(key=lambda job: WORST.index(job.standing))
    return found


def _job(standing: Standing, procedure: Procedure | None, today: date) -> Job:
    row = row_of(standing, today)
    is_ahead = row.check_ahead or row.standing not in WORST
    return Job(
        title=row.title,
        page="item",
        pk=row.item.pk,
        standing="unfit" if row.unfit else "soon" if is_ahead else row.standing,
        when=_when(standing, today) or row.when,
        minutes=minutes_words(procedure.minutes) if procedure else "",
        who=WHO_WORDS[procedure.who] if procedure else "",
        safety=row.safety,
        deferred=_deferred(standing, today),
    )


def _when(standing: Standing, today: date) -> str:
    """By when, where its window is one of days."""
    window = standing.window
    if window is None or not isinstance(window.closes, date):
        return ""
    if standing.standing == StandingName.OVERDUE:
        return f"was due {near_days_words(window.closes, today=today)}"
    if standing.standing == StandingName.DUE or not isinstance(window.opens, date):
        return f"by {near_days_words(window.closes, today=today)}"
    return near_days_words(window.opens, window.closes, today=today)


def _deferred(standing: Standing, today: date) -> str:
    if standing.deferred_until:
        return f"to {near_days_words(standing.deferred_until, today=today)}"
    at, unit = standing.deferred_until_value, standing.deferred_unit
    return f"to {show(at, unit or '')}" if at is not None else ""


def _found(finding: Finding, today: date) -> Job:
    due = finding.due_on
    planned = f"planned by {near_days_words(due, today=today)}" if due else ""
    return Job(
        title=finding.what,
        page="finding",
        pk=finding.pk,
        standing="unfit" if finding.unfit else "fault",
        when=planned or finding.get_severity_display().lower(),
        who="Shop" if finding.for_shop else "",
    )


# --- what comes next ------------------------------------------------------------------


def _ahead(plan: list[Standing], trips: list[Trip], today: date) -> list[Ahead]:
    """The next windows that open, and the next trip, in order."""
    windows: dict[tuple[date, date], list[Standing]] = {}
    for one in plan:
        is_coming = one.standing in {StandingName.SOON, StandingName.LATER}
        if is_coming and one.opens_on and one.opens_on > today:
            closes = one.closes_on or one.opens_on
            windows.setdefault((one.opens_on, closes), []).append(one)
    found = [
        (opens, _next_jobs(near_days_words(opens, closes, today=today), some))
        for (opens, closes), some in windows.items()
    ]
    found += [(one.start, _next_trip(one, today)) for one in trips if one.start > today]
    return [one for _day, one in sorted(found, key=lambda pair: pair[0])[:NEXT]]


def _next_jobs(when: str, some: list[Standing]) -> Ahead:
    first = some[0]
    return Ahead(when, first.item.title, "item", first.item_id, len(some) - 1)


def _next_trip(trip: Trip, today: date) -> Ahead:
    when = near_days_words(trip.start, trip.end, today=today)
    return Ahead(when, str(trip), "trip", trip.pk)
