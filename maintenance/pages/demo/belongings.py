"""Telling of what lies about a rig and in the shed: manuals, places, tools, supplies,
photos that wait, weights, figures kept from the bench, what a trouble turned out to be.
"""

from datetime import date
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import QueryDict

from maintenance.calculators.services import keep_figure
from maintenance.calculators.subjects import CALCULATORS
from maintenance.core.trouble import Ending
from maintenance.service_records.unfiled_photos import keep_snaps
from maintenance.supplies.services import add_supply, add_tool
from maintenance.troubleshooting.reading import load_trees
from maintenance.troubleshooting.services import tell_outcome
from maintenance.vehicles.manuals import add_manual, note_page, tell_spot
from maintenance.vehicles.weights import keep_label, keep_ticket

from .rows import (
    FigureStory,
    ManualStory,
    SpotStory,
    SupplyStory,
    TicketStory,
    ToolStory,
    TroubleStory,
    UnfiledPhotoStory,
    columns,
)
from .story import RigStory, StoryError
from .told import Told


def upload(told: Told, name: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, told.story.file(name))


# --- of a rig -------------------------------------------------------------------------


def shelve(told: Told, rig: RigStory, row: ManualStory, today: date) -> None:
    by = told.members[rig.hand]
    manual = add_manual(
        told.rig(rig),
        by=by,
        title=row.title,
        about=row.about,
        upload=upload(told, row.file),
    )
    for page, text in row.notes:
        note_page(manual, by=by, page=page, text=text)


def point_at(told: Told, rig: RigStory, row: SpotStory, today: date) -> None:
    tell_spot(
        told.rig(rig),
        by=told.members[rig.hand],
        today=today,
        name=row.name,
        words=row.words,
        upload=upload(told, row.photo) if row.photo else None,
    )


def label(told: Told, rig: RigStory, today: date) -> None:
    keep_label(
        told.rig(rig), by=told.members["keeper"], unit="lb", **columns(rig.label)
    )


def weigh(told: Told, rig: RigStory, row: TicketStory, today: date) -> None:
    keep_ticket(
        None,
        by=told.members[rig.hand],
        today=today,
        rig=told.rig(rig),
        trailer=told.rigs[row.trailer] if row.trailer else None,
        on=today,
        unit="lb",
        **columns(row.about),
    )


def reckon(told: Told, rig: RigStory, row: FigureStory, today: date) -> None:
    """As typed into the form of the calculator, so that it cannot show another."""
    calculator = CALCULATORS[row.calculator]
    data = QueryDict(mutable=True)
    data.update(row.typed)
    form = calculator.form(data)
    if not form.is_valid():
        raise StoryError(f"{rig.key}.toml: figures: {dict(form.errors)}")
    keep_figure(
        told.rig(rig),
        by=told.members[rig.hand],
        today=today,
        calculator=calculator,
        typed=dict(row.typed),
        lines=calculator.reckon(form.cleaned_data),
        note=row.note,
    )


def trace(told: Told, rig: RigStory, row: TroubleStory, today: date) -> None:
    ending = load_trees()[row.guide].step(row.ending)
    if not isinstance(ending, Ending):
        raise StoryError(f"{rig.key}.toml: troubles: {row.ending} is no ending")
    tell_outcome(
        told.rig(rig),
        by=told.members[rig.hand],
        today=today,
        guide=row.guide,
        ending=ending,
        path=row.path,
        was_it=row.was_it,
    )


# --- of the household -----------------------------------------------------------------


def own(told: Told, row: ToolStory, today: date) -> None:
    calibrated = None if row.calibrated is None else told.on(row.calibrated)
    fields: dict[str, Any] = {"calibrated_on": calibrated, **columns(row.about)}
    by = told.members["keeper"]
    add_tool(told.household, by=by, today=today, kind=row.kind, name=row.name, **fields)


def stock(told: Told, row: SupplyStory, today: date) -> None:
    add_supply(
        told.household, by=told.members["keeper"], name=row.name, **columns(row.about)
    )


def snap(told: Told, row: UnfiledPhotoStory, today: date) -> None:
    keep_snaps(
        told.household,
        by=told.members["crew"],
        uploads=[upload(told, row.photo)],
        rig=told.rigs[row.rig] if row.rig else None,
    )
