"""What the pages that show several apps together need, each in a few queries."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date

from django.core.paginator import Page, Paginator
from django.db.models import Count

from maintenance.core.order import NOT_ON_DUE
from maintenance.findings.fitness import Fitness, fitness_of
from maintenance.findings.models import Finding
from maintenance.findings.queries import open_findings
from maintenance.households.models import Household
from maintenance.library.reading import load_library
from maintenance.plans.expected import towed_questions
from maintenance.plans.models import StandingName
from maintenance.plans.queries import DUE_PAGE, due_standings, plan_of
from maintenance.plans.rows import Row, row_of
from maintenance.plans.use import wheel_words
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import records_of_rig
from maintenance.vehicles.models import Meter, MeterKind, Reading, Rig
from maintenance.vehicles.not_towed import TowedSince, asks_towed, towed_words
from maintenance.vehicles.queries import readings_of, rigs_of
from maintenance.vehicles.runs import logged_words
from maintenance.vehicles.state import STATE_ROWS, RigState, state_of

# Key, heading, and the ranks of Due under it: safety without a record is due now.
GROUPS = (
    ("now", "Before you drive on", {0}),
    ("overdue", "Overdue", {1, 2}),
    ("ahead", "Ahead on the road", {NOT_ON_DUE}),  # checks ahead, no others
    ("due", "Due now", {3, 4, 5}),
    ("unknown", "No record yet", {6}),
    ("soon", "Coming", {7}),
)


PAGE = 50  # rows; more than a person takes in, and each costs half a millisecond


@dataclass(frozen=True)
class Group:
    """Rows under one heading; `size` counts those of the other pages, too."""

    key: str
    title: str
    size: int
    rows: list[Row]
    findings: list[Finding]

    @property
    def without_record(self) -> dict[int, str]:
        """Rigs, by id, of which nobody has said yet when some of the work was done."""
        unknown = [row for row in self.rows if row.standing == StandingName.UNKNOWN]
        return {row.item.rig_id: row.rig for row in unknown}


@dataclass(frozen=True)
class DuePage:
    groups: list[Group]
    page: Page
    towed: list[TowedSince]  # asked


def due_page(household: Household, today: date, number: str | None) -> DuePage:
    """A page of Due: every rig, in the order of urgency, under a few headings."""
    standings = due_standings(household)
    counts = Counter(standings.order_by().values_list("rank", flat=True))
    paginator = Paginator(standings, PAGE)
    paginator.count = counts.total()  # known already: no query of its own
    page = paginator.get_page(number)
    rows = [row_of(standing, today) for standing in page]
    findings = list(open_findings(household).asking_themselves())
    groups = []
    for key, title, ranks in GROUPS:
        under = [row for row in rows if row.rank in ranks]
        found = [f for f in findings if ("now" if f.unfit else "due") == key]
        size = sum(counts[rank] for rank in ranks) + len(found)
        shown = found if page.number == 1 else []
        if under or shown:
            groups.append(Group(key, str(title), size, under, shown))
    return DuePage(groups, page, towed_questions(page, today))


@dataclass(frozen=True)
class Waiting:
    """What of a household waits for somebody and is no work on a rig."""

    unfiled: int  # photos
    stopped: list[str]  # addresses that a mail server refused for good


def what_waits(household: Household) -> Waiting:
    """In one query: a row per stopped address, or one without, each with the count."""
    rows = (
        Household.objects.filter(pk=household.pk)
        .values_list("stopped_addresses__address")
        .annotate(unfiled=Count("snaps", distinct=True))
        .order_by("stopped_addresses__address")
    )
    stopped = [address for address, _unfiled in rows if address is not None]
    return Waiting(max((unfiled for _address, unfiled in rows), default=0), stopped)


@dataclass(frozen=True)
class MeterLine:
    """A meter with its last good reading."""

    meter: Meter
    last: Reading | None
    runs: str = ""  # what its log says, where no meter shows it
    towed: str = ""  # what its trips say, where no meter shows it

    @property
    def asks_hub(self) -> bool:
        """Readings of towed distance count as a hub meter's, and nobody said that the
        rig has one."""
        is_towed = self.meter.kind == MeterKind.TOWED
        return is_towed and self.last is not None and not self.meter.hub_confirmed_on


@dataclass(frozen=True)
class PlanGroup:
    """Items of a plan that stand alike; those that ask for nothing are folded."""

    title: str
    asks: bool
    rows: list[Row]


PLAN_GROUPS = (
    ("Asks for something now", True, {"overdue", "due", "unknown"}),
    ("Coming", True, {"soon"}),
    ("Later", False, {"later"}),
    ("Waiting for an occasion", False, {"waiting"}),
    ("Finished", False, {"settled"}),
)


def _group(row: Row) -> str:
    return "soon" if row.check_ahead else row.standing


def plan_groups(rows: list[Row]) -> list[PlanGroup]:
    groups = [
        PlanGroup(str(title), asks, [row for row in rows if _group(row) in standings])
        for title, asks, standings in PLAN_GROUPS
    ]
    return [group for group in groups if group.rows]


@dataclass(frozen=True)
class RigPage:
    rig: Rig
    meters: list[MeterLine]
    logs_runs: bool
    wheels: str  # of a car that is towed: what it has rolled
    doubtful: list[Reading]
    groups: list["PlanGroup"]
    records: list[ServiceRecord]
    state: RigState
    towed: TowedSince | None  # asked
    findings: list[Finding]
    fitness: Fitness | None


def rig_page(rig: Rig, today: date) -> RigPage:
    readings = list(readings_of(rig))
    state = state_of(rig, today)
    return RigPage(
        rig=rig,
        meters=[
            MeterLine(
                meter,
                _last_good(readings, meter),
                runs=logged_words(meter) if meter.by_runs else "",
                towed=towed_words(rig, today) if meter.by_trips else "",
            )
            for meter in rig.meters.all()
        ],
        logs_runs=logs_runs(rig),
        wheels=wheel_words(rig, today),
        doubtful=[row for row in readings if row.doubtful],
        groups=plan_groups([row_of(standing, today) for standing in plan_of(rig)]),
        records=list(records_of_rig(rig).filter(merged_into=None)[:10]),
        state=state,
        towed=asks_towed(rig, today) if state.name == "in_use" else None,
        findings=list(open_findings(rig.household).filter(rig=rig)),
        fitness=fitness_of(rig.household, today, [rig]).get(rig.pk),
    )


def logs_runs(rig: Rig) -> bool:
    """Whether its generator has no hour meter, so that its runs are logged."""
    meter = rig.meters.filter(kind=MeterKind.GENERATOR).first()
    if meter is not None:
        return meter.by_runs
    known = load_library().equipment
    has = [known[key] for key in rig.equipment if key in known]
    return any(one.hours == MeterKind.GENERATOR for one in has)


def _last_good(readings: list[Reading], meter: Meter) -> Reading | None:
    good = (r for r in readings if r.meter_id == meter.pk and not r.doubtful)
    return next(good, None)


@dataclass(frozen=True)
class RigSummary:
    rig: Rig
    counts: list[tuple[str, int]]
    fitness: Fitness | None
    state: RigState


def rig_summaries(household: Household, today: date) -> list[RigSummary]:
    """Each rig with how many items stand where and what stops it, in five queries."""
    counts: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    fitness = fitness_of(household, today)
    for rig_id, standing in due_standings(household).values_list(
        "item__rig_id", "standing"
    ):
        counts[rig_id][standing] += 1
    return [
        RigSummary(
            rig=rig,
            counts=[(n, counts[rig.pk][n]) for n in DUE_PAGE if counts[rig.pk][n]],
            fitness=fitness.get(rig.pk),
            state=state_of(rig, today),
        )
        for rig in rigs_of(household).prefetch_related(*STATE_ROWS)
    ]
