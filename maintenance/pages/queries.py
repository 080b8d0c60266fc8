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
from maintenance.plans.expected import towed_questions
from maintenance.plans.models import StandingName
from maintenance.plans.queries import DUE_PAGE, due_standings
from maintenance.plans.rows import Row, row_of
from maintenance.vehicles.models import Rig
from maintenance.vehicles.not_towed import TowedSince
from maintenance.vehicles.queries import rigs_of
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
class RigSummary:
    """A rig in the list: `first` is its most urgent job with its standing."""

    rig: Rig
    counts: list[tuple[str, int]]
    first: tuple[str, str] | None
    fitness: Fitness | None
    state: RigState


def rig_summaries(household: Household, today: date) -> list[RigSummary]:
    """Each rig with how many items stand where and what stops it, in a fixed number of
    queries."""
    counts: dict[int, Counter[str]] = defaultdict(Counter)
    first: dict[int, tuple[str, str]] = {}
    fitness = fitness_of(household, today)
    for rig_id, standing, title in due_standings(household).values_list(
        "item__rig_id", "standing", "item__title"
    ):
        counts[rig_id][standing] += 1
        first.setdefault(rig_id, (standing, title))
    rigs = rigs_of(household).select_related("photo")
    return [
        RigSummary(
            rig=rig,
            counts=[(n, counts[rig.pk][n]) for n in DUE_PAGE if counts[rig.pk][n]],
            first=first.get(rig.pk),
            fitness=fitness.get(rig.pk),
            state=state_of(rig, today),
        )
        for rig in rigs.prefetch_related(*STATE_ROWS)
    ]
