"""The shop sheet as plain values."""

from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from django.template.loader import render_to_string

from maintenance.findings.fitness import Fitness, fitness_of
from maintenance.findings.models import Finding
from maintenance.findings.photos import path_of
from maintenance.packets.history.words import RigWords
from maintenance.packets.proof import small_photo
from maintenance.plans.models import Standing, StandingName
from maintenance.plans.queries import plan_of, procedures_of
from maintenance.plans.rows import Row, row_of
from maintenance.troubleshooting.place import Place
from maintenance.ui.local import paper_size
from maintenance.vehicles.models import Reading, Rig
from maintenance.vehicles.queries import readings_of

from .earlier import earlier_work

ASKED = {StandingName.OVERDUE, StandingName.DUE, StandingName.SOON}
OFFERED = {*ASKED, StandingName.UNKNOWN}


@dataclass(frozen=True, slots=True)
class Offered:
    """A job or a finding that can be put on the sheet; `asked`: it is a shop's."""

    key: str
    words: str
    asked: bool


@dataclass(frozen=True, slots=True)
class Chosen:
    """Ids of findings and of plan items."""

    findings: Collection[int]
    items: Collection[int]


@dataclass(frozen=True)
class Job:
    """Work for the shop: what the maker says of it, and when it was done before."""

    row: Row
    maker: str
    figures: tuple[str, ...]
    earlier: tuple[str, ...]


@dataclass(frozen=True)
class ShopSheet:
    rig: Rig
    today: date
    readings: tuple[Reading, ...]
    findings: tuple[tuple[Finding, tuple[str, ...]], ...]  # with photos as data:
    jobs: tuple[Job, ...]
    place: Place | None = None  # the path of a guide
    told: Sequence[tuple[str, str]] = ()  # typed beside it: label, words
    fitness: Fitness | None = None


def offered_findings(rig: Rig) -> list[Offered]:
    """What is not right yet; asked for is what stands on the shop's list."""
    return [
        Offered(str(each.pk), each.what, each.for_shop) for each in _open_findings(rig)
    ]


def offered_jobs(rig: Rig, today: date) -> list[Offered]:
    """Due and coming work, and work without a record; asked for is what is due and a
    shop's by its procedure."""
    shops = _shop_keys(rig)
    rows = [(row_of(each, today), each) for each in _standings(rig, OFFERED)]
    return [
        Offered(
            str(standing.item_id),
            f"{row.title} ({row.when or 'no record yet'})",
            standing.standing in ASKED and standing.item.key in shops,
        )
        for row, standing in rows
    ]


def asked(rig: Rig, today: date) -> Chosen:
    """What goes on the sheet when nobody chooses."""
    findings, jobs = offered_findings(rig), offered_jobs(rig, today)
    return Chosen(
        findings={int(each.key) for each in findings if each.asked},
        items={int(each.key) for each in jobs if each.asked},
    )


def shop_sheet(
    rig: Rig,
    today: date,
    *,
    chosen: Chosen | None = None,
    place: Place | None = None,
    told: Sequence[tuple[str, str]] = (),
) -> ShopSheet:
    chosen = chosen or asked(rig, today)
    newest: dict[str, Reading] = {}
    for reading in readings_of(rig).filter(doubtful=False):
        newest.setdefault(reading.meter.kind, reading)
    findings = [each for each in _open_findings(rig) if each.pk in chosen.findings]
    return ShopSheet(
        rig=rig,
        today=today,
        readings=tuple(newest.values()),
        findings=tuple((each, _photos(each)) for each in findings),
        jobs=tuple(_jobs(rig, today, chosen.items)),
        place=place,
        told=tuple((label, words) for label, words in told if words),
        fitness=fitness_of(rig.household, today, [rig]).get(rig.pk),
    )


def _open_findings(rig: Rig) -> list[Finding]:
    rows = Finding.objects.for_household(rig.household).not_right_yet()
    return list(
        rows.filter(rig=rig)
        .order_by("-unfit", "found_on", "pk")
        .prefetch_related("photos")
    )


def _shop_keys(rig: Rig) -> set[str]:
    procedures = procedures_of(rig.household)
    return {key for key, each in procedures.items() if each.by_shop}


def _standings(rig: Rig, which: Collection[str]) -> list[Standing]:
    rows = plan_of(rig).filter(standing__in=which)
    return list(rows.prefetch_related("item__maker__values"))


def _jobs(rig: Rig, today: date, items: Collection[int]) -> list[Job]:
    rows = [each for each in _standings(rig, OFFERED) if each.item_id in items]
    words = RigWords(rig.meters.all(), rig.places)
    earlier = earlier_work([each.item_id for each in rows], words)
    return [_job(each, today, earlier.get(each.item_id, ())) for each in rows]


def _job(standing: Standing, today: date, earlier: tuple[str, ...]) -> Job:
    maker = getattr(standing.item, "maker", None)
    figures = tuple(str(value) for value in maker.values.all()) if maker else ()
    return Job(row_of(standing, today), str(maker or ""), figures, earlier)


def _photos(finding: Finding) -> tuple[str, ...]:
    """As data: addresses; one that is missing or damaged is left out."""
    shown = []
    for photo in finding.photos.all():
        with suppress(OSError, ValueError, SyntaxError):
            shown.append(small_photo(path_of(photo).read_bytes()))
    return tuple(shown)


def printed(sheet: ShopSheet) -> str:
    """Whole HTML with its style inside; it loads nothing."""
    household = sheet.rig.household
    context = {
        "sheet": sheet,
        "rig": sheet.rig,
        "household": household,
        "paper": paper_size(),
    }
    return render_to_string("pages/print/shop.html", context)
