"""What a household has, as texts that can be searched: each made from its row."""

from collections.abc import Iterable, Iterator
from datetime import date

from django.db.models import QuerySet
from django.utils.dates import MONTHS

from maintenance.calculators.models import KeptFigure
from maintenance.components.models import Component, ComponentKind
from maintenance.core.search.terms import Slot
from maintenance.findings.models import Finding
from maintenance.households.models import Household
from maintenance.library.reading import load_library
from maintenance.library.words import load_words
from maintenance.plans.models import MakerFigure, PlanItem
from maintenance.plans.queries import own_procedures
from maintenance.service_records.models import (
    Attachment,
    RecordLine,
    ServiceRecord,
    UnfiledPhoto,
)
from maintenance.supplies.models import Supply, Tool
from maintenance.ui.words import day_words
from maintenance.vehicles.models import WHEEL_PLACES, Manual, Spot

from ..models import SearchKind, SearchText


def as_terms(texts: Iterable[object]) -> str:
    """A line for each text; a slot's terms are joined by a bar."""
    words = load_words().words
    read = (words.slots(str(text)) for text in texts if text)
    return "\n".join(" ".join(map("|".join, slots)) for slots in read if slots)


def slots_of(line: str) -> tuple[Slot, ...]:
    return tuple(tuple(slot.split("|")) for slot in line.split())


def item_texts(household: Household) -> Iterator[SearchText]:
    """Plan items by what the household itself says of them: its own title, its own
    procedure, the maker's figures. What the library says is found there."""
    own = own_procedures(household)
    rows = PlanItem.objects.for_household(household).active()
    rows = rows.select_related("rig", "maker").prefetch_related("maker__values")
    for item in rows:
        procedure, maker = own.get(item.key), getattr(item, "maker", None)
        told = [*_told(maker)] if maker else []
        if procedure is not None:
            told += [procedure.why, *procedure.steps, *procedure.tools]
            told += procedure.supplies
        yield SearchText(
            household=household,
            kind=SearchKind.ITEM,
            key=str(item.pk),
            title=item.title,
            about=item.rig.name,
            names=as_terms([item.title]),
            words=as_terms([item.rig.name, *told]),
        )


def _told(maker: MakerFigure) -> Iterator[str]:
    yield from (maker.document, maker.note)
    for value in maker.values.all():
        yield f"{value.name} {value.value.normalize():f} {value.unit}"


def record_texts(rows: "QuerySet[ServiceRecord]") -> Iterator[SearchText]:
    rows = rows.select_related("rig", "torque").prefetch_related(
        "lines", "supplies", "parts_used", "attachments", "torque__places"
    )
    for record in rows.iterator(chunk_size=500):
        lines = list(record.lines.all())
        files = list(record.attachments.all())
        about = f"{record.rig.name}, {day_words(record.on)}"
        title = "\n".join(line.title for line in lines)
        yield SearchText(
            household_id=record.rig.household_id,
            kind=SearchKind.RECORD,
            key=str(record.pk),
            title=title[:300],
            about=f"{about}, void" if record.voided_at else about,
            on=record.on,
            names=as_terms([*(line.title for line in lines), record.doer]),
            words=as_terms([*_said(record), *_figures(record, lines)]),
        )
        for file in files:
            yield SearchText(
                household_id=record.rig.household_id,
                kind=SearchKind.FILE,
                key=f"{record.pk}-{file.pk}",
                title=file.title,
                about=f"{lines[0].title}: {about}" if lines else about,
                on=record.on,
                names=as_terms([*_named(file, record.on), *title.splitlines()]),
                words=as_terms([record.rig.name, record.doer, day_of(record.on)]),
            )


def _said(record: ServiceRecord) -> Iterator[object]:
    yield record.rig.name
    yield day_of(record.on)
    yield from (record.place, record.notes, record.warranty_covers)
    yield from (record.signed_off_by, record.credential)
    yield from (f"{part.name} {part.number}" for part in record.parts_used.all())
    yield from (supply.name for supply in record.supplies.all())


def day_of(day: date) -> str:
    return f"{MONTHS[day.month]} {day.year}"


def _named(file: Attachment | UnfiledPhoto, day: date) -> Iterator[str]:
    """By its name, and by what such a file mostly is."""
    name, kind = file.title.rpartition(".")[0], "photo" if file.is_image else "invoice"
    yield f"{kind} {name or file.title}"
    yield f"{kind} {day.year}"
    yield "file" if file.is_image else "file pdf"


def _figures(record: ServiceRecord, lines: list[RecordLine]) -> Iterator[str]:
    """Notes, measures, torque, what the meters showed and what it cost."""
    for line in lines:
        yield line.note
        yield _places(line.places or ())
        for one in line.measures:
            place = WHEEL_PLACES.get(one.get("place", ""), "")
            yield f"{one['name']} {place} {one['value']} {one['unit']}"
    check = getattr(record, "torque", None)
    if check is not None:
        yield f"torque {check.figure.normalize():f} {check.unit}"
        yield check.wrench
        yield _places(place.place for place in check.places.all())
    yield " ".join(str(value).removesuffix(".0") for value in record.values.values())
    if record.total:
        yield f"{record.total:f} {record.total.to_integral_value():f}"


def _places(codes: Iterable[str]) -> str:
    return ", ".join(WHEEL_PLACES.get(code, code) for code in codes)


def snap_texts(household: Household) -> Iterator[SearchText]:
    """Photos to file."""
    for snap in UnfiledPhoto.objects.filter(household=household):
        day = snap.added_at.date()
        yield SearchText(
            household=household,
            kind=SearchKind.SNAP,
            key=str(snap.key),
            title=snap.title,
            about="Photo to file",
            on=day,
            names=as_terms(_named(snap, day)),
            words=as_terms([day_of(day)]),
        )


def finding_texts(household: Household) -> Iterator[SearchText]:
    rows = Finding.objects.for_household(household).select_related("rig")
    for finding in rows:
        yield SearchText(
            household=household,
            kind=SearchKind.FINDING,
            key=str(finding.pk),
            title=finding.what,
            about=f"{finding.rig.name}, {finding.get_state_display()}",
            names=as_terms([finding.what]),
            words=as_terms([finding.rig.name]),
        )


def manual_texts(household: Household) -> Iterator[SearchText]:
    rows = Manual.objects.filter(rig__household=household).select_related("rig")
    for manual in rows.prefetch_related("notes"):
        notes = [str(note) for note in manual.notes.all()]
        yield SearchText(
            household=household,
            kind=SearchKind.MANUAL,
            key=str(manual.key),
            title=manual.title,
            about=manual.rig.name,
            names=as_terms([manual.title, manual.about, *notes]),
            words=as_terms([manual.rig.name, "manual"]),
        )


def part_texts(household: Household) -> Iterator[SearchText]:
    rows = Component.objects.for_household(household).in_service()
    for part in rows.select_related("rig").prefetch_related("fittings"):
        rig = part.rig.name if part.rig else "not on a rig"
        kind = ComponentKind(part.kind).label
        yield SearchText(
            household=household,
            kind=SearchKind.PART,
            key=str(part.pk),
            title=str(part)[:1].upper() + str(part)[1:],
            about=rig,
            names=as_terms(
                [
                    str(part),
                    part.what.partition(",")[0],
                    f"{part.place_words} {kind}",
                    f"load range {part.load_range}" if part.load_range else "",
                    part.maker,
                    part.serial,
                ]
            ),
            words=as_terms(
                [rig, kind, part.place, part.notes, part.made, part.service]
                + [
                    f"{kind} {fitting.place}"
                    for fitting in part.fittings.all()
                    if not fitting.withdrawn
                ]
            ),
        )


def spot_texts(household: Household) -> Iterator[SearchText]:
    """Where things are, as it was told of each rig."""
    spots = load_library().spots
    rows = Spot.objects.filter(rig__household=household).exclude(words="")
    for told in rows.select_related("rig"):
        spot = spots.get(told.name)
        if spot is None:
            continue
        called = load_words().names_of("place", told.name)
        yield SearchText(
            household=household,
            kind=SearchKind.SPOT,
            key=f"{told.rig_id}-{told.name}",
            title=spot.title,
            about=f"{told.rig.name}: {told.words}",
            names=as_terms([spot.title, told.words, *called]),
            words=as_terms([told.rig.name]),
        )


def shelf_texts(household: Household) -> Iterator[SearchText]:
    """Supplies, tools and kept figures."""
    for supply in Supply.objects.for_household(household):
        yield _own(household, SearchKind.SUPPLY, f"supply-{supply.pk}", supply)
    for tool in Tool.objects.for_household(household):
        yield _own(household, SearchKind.SUPPLY, f"tool-{tool.pk}", tool)
    rows = KeptFigure.objects.for_household(household).select_related("rig")
    for figure in rows:
        key = f"{figure.calculator}-{figure.pk}"
        text = _own(household, SearchKind.FIGURE, key, figure)
        text.title, text.about = figure.title, figure.rig.name
        text.words += "\n" + as_terms(" ".join(line) for line in figure.lines)
        yield text


def _own(
    household: Household, kind: SearchKind, key: str, row: Supply | Tool | KeptFigure
) -> SearchText:
    return SearchText(
        household=household,
        kind=kind,
        key=key,
        title=str(row),
        about=row.note,
        names=as_terms([row]),
        words=as_terms([row.note]),
    )
