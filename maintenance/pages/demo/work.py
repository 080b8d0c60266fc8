"""Telling of work done: records with proof, findings opened and put right."""

import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from maintenance.core.dates import season_of
from maintenance.service_records.proof import hold
from maintenance.service_records.queries import findings_of_record
from maintenance.service_records.services import record_work
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Costs, Line, Part, Warranty, WorkDone

from .rigs import decimals
from .rows import columns
from .story import LineStory, RigStory, WorkStory
from .told import Told

SEASON_EARLY = 30  # days before a season opens; the earliest that counts for it
MONEY = ("labor", "parts", "tax", "total")


def days_of(told: Told, rig: RigStory, work: WorkStory) -> list[int]:
    """The days of a work's records; seasons are those of the household's calendar."""
    if not work.season:
        return work.days
    ends = getattr(told.household.calendar, work.season)
    years = range(told.on(rig.adopted).year, told.as_of.year + 2)
    opens = [(season_of(year, ends)[0] - told.as_of).days for year in years]
    early = [day - SEASON_EARLY for day in opens]
    return [day for day in early if rig.adopted < day <= 0]


def log(told: Told, rig: RigStory, work: WorkStory, day: int, today: date) -> None:
    """One record with its proof, the findings it opens and those it puts right."""
    by, token = told.members[work.by or rig.hand], uuid.uuid4()
    for name in work.proof:
        upload = SimpleUploadedFile(name, told.story.proof(name))
        hold(told.rig(rig), by=by, form_token=token, upload=upload)
    done = WorkDone(
        rig=told.rig(rig),
        on=told.on(day),
        lines=_lines(told, rig, work),
        values=decimals(work.at),
        wheels=_wheels(work.wheels),
        done_by="shop" if work.shop else "mobile" if work.mobile else "member",
        doer=work.shop or work.mobile or by.name,
        place=work.place,
        notes=work.notes,
        parts=[Part(**columns(one)) for one in work.used],
        warranty=Warranty(
            until=None if work.warranty is None else told.on(work.warranty),
            covers=work.covers,
        ),
        costs=Costs(**{name: getattr(work, name) for name in MONEY}),
        form_token=token,
    )
    record = record_work(done, by=by, today=today).record
    if work.name:
        told.records[work.name] = record
    if work.late:
        told.late[record] = today
    names = [line.finding for line in work.lines if line.finding]
    names += [work.torque] if work.torque else []
    told.findings.update(zip(names, findings_of_record(record), strict=True))


def _lines(told: Told, rig: RigStory, work: WorkStory) -> list[Line]:
    """Those told apart first, then the single ones, then what of the rounds the rig
    has on its plan."""
    keys = [key for name in work.rounds for key in told.story.rounds[name]]
    keys = [*work.done, *(key for key in keys if (rig.key, key) in told.items)]
    items = [item for key in keys for item in told.items_of(rig, key)]
    told_apart = [_line(told, rig, line) for line in work.lines]
    lines = [*told_apart, *(Line(item.title, item) for item in dict.fromkeys(items))]
    fixes = [told.findings[name] for name in work.fixes]
    return [replace(lines[0], fixes=fixes), *lines[1:]] if fixes else lines


def _line(told: Told, rig: RigStory, line: LineStory) -> Line:
    item = told.item(rig, line.key) if line.key else None
    return Line(item.title if item else line.title, item, line.outcome, line.note)


def _wheels(data: Mapping[str, Any]) -> Wheels:
    if not data:
        return Wheels()
    return Wheels(
        off=frozenset(data.get("off", ())),
        figure=Decimal(data["figure"]),
        origin=data["origin"],
        wrench=data.get("wrench", ""),
        reached=decimals(data.get("reached", {})),
        moved=frozenset(data.get("moved", ())),
        makers_figure=Decimal(data["makers"]) if "makers" in data else None,
        makers_unit="ft·lbf" if "makers" in data else "",
        makers_source=data.get("makers_source", ""),
    )
