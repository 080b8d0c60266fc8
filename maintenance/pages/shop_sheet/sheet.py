"""The shop sheet as plain values."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from django.template.loader import render_to_string

from maintenance.packets.history.build import LETTER
from maintenance.packets.proof import small_photo
from maintenance.packets.queries import last_completions
from maintenance.plans.models import Completion, StandingName
from maintenance.plans.queries import plan_of, procedures_of
from maintenance.plans.rows import Row, row_of
from maintenance.vehicles.models import Reading, Rig
from maintenance.vehicles.queries import readings_of
from maintenance.walkrounds.models import Finding
from maintenance.walkrounds.photos import path_of
from maintenance.walkrounds.queries import shop_findings
from maintenance.walkrounds.trouble.place import Place

ASKED = {StandingName.OVERDUE, StandingName.DUE, StandingName.SOON}


@dataclass(frozen=True)
class Job:
    """Work that is a shop's and due: what the maker says of it, when it was done."""

    row: Row
    maker: str
    figures: tuple[str, ...]
    last: Completion | None


@dataclass(frozen=True)
class ShopSheet:
    rig: Rig
    today: date
    readings: tuple[Reading, ...]
    findings: tuple[tuple[Finding, tuple[str, ...]], ...]  # with photos as data:
    jobs: tuple[Job, ...]
    place: Place | None = None  # the path of a guide
    told: Sequence[tuple[str, str]] = ()  # typed beside it: label, words


def shop_sheet(
    rig: Rig,
    today: date,
    place: Place | None = None,
    told: Sequence[tuple[str, str]] = (),
) -> ShopSheet:
    newest: dict[str, Reading] = {}
    for reading in readings_of(rig).filter(doubtful=False):
        newest.setdefault(reading.meter.kind, reading)
    return ShopSheet(
        rig=rig,
        today=today,
        readings=tuple(newest.values()),
        findings=tuple((each, _photos(each)) for each in shop_findings(rig)),
        jobs=tuple(_jobs(rig, today)),
        place=place,
        told=tuple((label, words) for label, words in told if words),
    )


def _jobs(rig: Rig, today: date) -> list[Job]:
    procedures, last = procedures_of(rig.household), last_completions(rig)
    rows = plan_of(rig).filter(standing__in=ASKED)
    jobs = []
    for standing in rows.prefetch_related("item__maker__values"):
        procedure, item = procedures.get(standing.item.key), standing.item
        if procedure is None or procedure.who != "shop":
            continue
        maker = getattr(item, "maker", None)
        figures = tuple(str(value) for value in maker.values.all()) if maker else ()
        row = row_of(standing, today)
        jobs.append(Job(row, str(maker or ""), figures, last.get(item.pk)))
    return jobs


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
        "paper": "letter" if household.currency in LETTER else "a4",
    }
    return render_to_string("pages/print/shop.html", context)
