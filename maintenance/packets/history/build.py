"""From rows to what the history says; nothing is rendered here."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from maintenance.core.meters import Track
from maintenance.core.units import show_number
from maintenance.core.words import counted
from maintenance.findings.models import Finding
from maintenance.plans.event_words import event_words
from maintenance.service_records.models import Attachment
from maintenance.service_records.queries import found_by
from maintenance.ui.local import paper_size
from maintenance.ui.templatetags.ui import day
from maintenance.ui.words import day_span_words, moment_words
from maintenance.vehicles.fuel import economy
from maintenance.vehicles.models import (
    Event,
    MeterKind,
    Rig,
    Stay,
    WheelLayout,
)

from ..queries import Material, accepted
from .faults import fault_rows
from .meters import distance_by_year, known, meter_sheet
from .model import (
    Cover,
    DatedRow,
    Head,
    History,
    MeterSheet,
    Pairs,
    Proof,
    Standings,
    YearRow,
)
from .parts import part_rows
from .records import LATE_AFTER, RecordSetter, by_year, days_late, sums
from .standings import StandingSetter, standings
from .words import RigWords

MOST_LOOKS = 24  # walk-arounds; more of them would tell a reader nothing new


def build_history(
    material: Material,
    *,
    made_by: str,
    made_at: datetime,
    proof: Callable[[Attachment], Proof],
) -> History:
    """Set a rig's history into words, as of a day."""
    rig = material.rig
    household = rig.household
    words = RigWords(material.meters, rig.places)
    setter = RecordSetter(
        words, household.zone, _by_line(material.findings), proof, material.causes
    )
    return History(
        title=f"{rig.name}: Service History",
        household=household.name,
        as_of=day(material.as_of),
        made=_made(made_by, made_at),
        paper=paper_size(),
        cover=_cover(material),
        standings=_standings(material, words),
        years=by_year(material.records, setter),
        by_year=_year_rows(material),
        meters=_meters(material),
        events=tuple(_event(each, words, material.tracks) for each in material.events),
        parts=part_rows(material.parts),
        looks=tuple(material.looks[:MOST_LOOKS]),
        looks_left_out=_looks_left_out(material.looks),
        faults=fault_rows(material.findings),
        fuel=_fuel(material),
        stays=tuple(_stay(each, material.as_of) for each in material.stays),
        head=_head(material),
    )


def _standings(material: Material, words: RigWords) -> Standings:
    return standings(
        material.standings,
        faults=material.open_findings,
        accepted=accepted(material.findings),
        setter=StandingSetter(words, material.last_done, material.as_of),
        sold_on=material.rig.sold_on,
    )


def _meters(material: Material) -> tuple[MeterSheet, ...]:
    tracks, uses = material.tracks, material.uses
    return tuple(
        meter_sheet(meter, tracks[meter.kind], uses.get(meter.kind))
        for meter in material.meters
    )


def _head(material: Material) -> Head | None:
    """What the chain ended with when this was made."""
    if material.head is None:
        return None
    waiting = sum(not row.links.all() for row in material.records)
    return Head(
        text=material.head.spaced,
        waiting=f"{counted(waiting, 'record')} too new to be in it" if waiting else "",
    )


def _fuel(material: Material) -> str:
    """`Fuel, by 24 stops: 3,482 mi ÷ 355 gal = …`; nothing where none can be had."""
    found = economy(material.fills, material.tracks.get(MeterKind.ODOMETER))
    if found is None:
        return ""
    stops = counted(len(material.fills), "stop")
    return f"Fuel, by {stops}: {found.formula}. {found.validity}"


def _by_line(findings: list[Finding]) -> dict[int, Finding]:
    return {line.pk: each for each in findings if (line := found_by(each))}


def _made(made_by: str, made_at: datetime) -> str:
    by = f" by {made_by}" if made_by else ""
    return f"{moment_words(made_at)}{by}"


def _cover(material: Material) -> Cover:
    rig = material.rig
    return Cover(
        rig=rig.name,
        kind=rig.identity,
        facts=_facts(rig),
        meters=tuple(known(m, material.tracks[m.kind]) for m in material.meters),
        glance=_glance(material),
    )


def _facts(rig: Rig) -> Pairs:
    sold = (("Sold on", day(rig.sold_on)),) if rig.sold_on else ()
    return (
        ("VIN", rig.vin or "not given"),
        ("Plate", rig.plate or "not given"),
        ("In service since", day(rig.in_service_on)),
        ("Wheels", str(WheelLayout(rig.wheels).label)),
        ("Household", rig.household.name),
        *sold,
    )


def _glance(material: Material) -> Pairs:
    """Figures by which a reader judges the record keeping at once."""
    rows = [row for row in material.records if row.voided_at is None]
    void = len(material.records) - len(rows)
    if not rows:
        return (("Work on record", "none yet"),)
    zone = material.rig.household.zone
    in_time = sum(days_late(row, zone) <= LATE_AFTER for row in rows)
    proven = sum(bool(row.attachments.all()) for row in rows)
    first, last = min(row.on for row in rows), max(row.on for row in rows)
    everything = show_number(len(rows))
    return (
        (
            "Work on record",
            f"{counted(len(rows), 'record')}, {day_span_words(first, last)}",
        ),
        ("With photo or invoice", f"{show_number(proven)} of {everything}"),
        (
            f"Entered within {LATE_AFTER} days",
            f"{show_number(in_time)} of {everything}",
        ),
        (
            "Voided",
            f"{show_number(void)}, shown with the reason" if void else "none",
        ),
        ("Paid, as recorded", sums(rows) or "no cost recorded"),
    )


def _year_rows(material: Material) -> tuple[YearRow, ...]:
    """Calendar years from the first record or reading on, newest first."""
    records = defaultdict(list)
    for row in material.records:
        if row.voided_at is None:
            records[row.on.year].append(row)
    starts = [*records, *(t.days[0].year for t in material.tracks.values() if t.days)]
    years = range(material.as_of.year, min(starts, default=material.as_of.year) - 1, -1)
    use = {
        meter.kind: distance_by_year(material.tracks[meter.kind], years, material.as_of)
        for meter in material.meters
    }
    return tuple(
        YearRow(
            year=year,
            use=tuple(use[meter.kind].get(year, "") for meter in material.meters),
            records=f"{show_number(len(records[year]))}",
            paid=sums(records[year]),
        )
        for year in years
    )


def _event(event: Event, words: RigWords, tracks: Mapping[str, Track]) -> DatedRow:
    said = [words.places(event.places)]
    for kind, value in event.values.items():
        counts = kind not in tracks or tracks[kind].counts(Decimal(value), event.on)
        mark = "" if counts else " (questionable, not counted)"
        said.append(f"{words.named(kind, value)}{mark}")
    said.append(event.note)
    return DatedRow(
        day(event.on), event_words(event.kind), "; ".join(filter(None, said))
    )


def _stay(stay: Stay, as_of: date) -> DatedRow:
    if stay.ended_on:
        span = day_span_words(stay.start, stay.ended_on)
    elif stay.start > as_of:
        span = f"planned from {day(stay.start)}"
    else:
        span = f"{day(stay.start)}, still there"
    water = "water system winterized" if stay.winterized else "not winterized"
    return DatedRow(span, stay.place or "Storage", water)


def _looks_left_out(looks: Sequence[DatedRow]) -> str:
    """`And 6 more, the first on 3 May 2021.`"""
    more = len(looks) - MOST_LOOKS
    if more <= 0:
        return ""
    return f"And {show_number(more)} more, the first on {looks[-1].on}."
