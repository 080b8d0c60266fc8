"""Telling of work done: records with proof, findings opened and put right."""

import uuid
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from maintenance.core.dates import season_of
from maintenance.service_records.proof import hold
from maintenance.service_records.services import (
    Line,
    Part,
    Wheels,
    log_service,
)
from maintenance.walkrounds.services import (
    ask_about_torque,
    fix_finding,
    open_findings_of,
)

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
    record = log_service(
        told.rig(rig),
        by=by,
        today=today,
        form_token=token,
        on=told.on(day),
        lines=_lines(told, rig, work),
        values=decimals(work.at),
        wheels=_wheels(work.wheels),
        done_by="shop" if work.shop else "mobile" if work.mobile else "member",
        doer=work.shop or work.mobile or by.name,
        place=work.place,
        notes=work.notes,
        parts_used=[Part(**columns(one)) for one in work.used],
        warranty_until=None if work.warranty is None else told.on(work.warranty),
        warranty_covers=work.covers,
        **{name: getattr(work, name) for name in MONEY},
    )
    if work.name:
        told.records[work.name] = record
    if work.late:
        told.late[record] = today
    found = [line.finding for line in work.lines if line.finding]
    told.findings.update(zip(found, open_findings_of(record, by=by), strict=True))
    if work.torque:
        asked = ask_about_torque(record, by=by)
        told.findings[work.torque] = asked  # type: ignore[assignment]
    for name in work.fixes:
        fix_finding(told.findings[name], by=by, line=record.lines.first())


def _lines(told: Told, rig: RigStory, work: WorkStory) -> list[Line]:
    """Those told apart first, then the single ones, then what of the rounds the rig
    has on its plan."""
    keys = [key for name in work.rounds for key in told.story.rounds[name]]
    keys = [*work.done, *(key for key in keys if (rig.key, key) in told.items)]
    items = [item for key in keys for item in told.items_of(rig, key)]
    told_apart = [_line(told, rig, line) for line in work.lines]
    return [*told_apart, *(Line(item.title, item) for item in dict.fromkeys(items))]


def _line(told: Told, rig: RigStory, line: LineStory) -> Line:
    item = told.item(rig, line.key) if line.key else None
    return Line(item.title if item else line.title, item, line.outcome, line.note)


def _wheels(data: Mapping[str, Any]) -> Wheels | None:
    if not data:
        return None
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
