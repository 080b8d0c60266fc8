"""Ending a stay, and a visit with the work that was done at it."""

import uuid
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome, PlanItem
from maintenance.service_records.proof import hold
from maintenance.service_records.services import Recorded, record_work
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line, WorkDone
from maintenance.vehicles.models import Stay, StayVisit
from maintenance.vehicles.rhythm import keep_visit
from maintenance.vehicles.services import end_stay

from .work import stay_work


@transaction.atomic
def wake(stay: Stay, *, by: Member, today: date, ended_on: date, why: str = "") -> Stay:
    """End the stay. While safety work of waking up is open, only a keeper may, who says
    why not; the words are kept with the stay."""
    unsafe = stay_work(stay, today).unsafe
    if unsafe and not (by.is_keeper and why.strip()):
        names = ", ".join(job.item.title for job in unsafe)
        told = f"Not done yet: {names}. Record them first."
        more = " Or enter below why it leaves without them."
        if not by.is_keeper:
            more = " A keeper can override with a reason."
        raise Refused(told + more, field="why" if by.is_keeper else None)
    if unsafe:
        left = "; ".join(job.item.title for job in unsafe)
        stay.woken_without = f"{why.strip()} ({left})"
        stay.save(update_fields=["woken_without"])
    return end_stay(stay, by=by, today=today, ended_on=ended_on)


@transaction.atomic
def visit(
    stay: Stay,
    *,
    by: Member,
    today: date,
    on: date,
    token: uuid.UUID,
    done: Sequence[PlanItem] = (),
    photos: Sequence[UploadedFile] = (),
    wheels: Wheels | None = None,
    **fields: Any,
) -> tuple[StayVisit, Recorded | None]:
    """What was read, and one record of what was done, photographed and said of wheels
    that were off."""
    kept = keep_visit(stay, by=by, today=today, on=on, **fields)
    lines = [
        Line(title=item.title, item=item, outcome=Outcome.SERVICEABLE) for item in done
    ]
    if wheels is not None and wheels.off:
        lines.append(Line(title=fields["note"][:120]))
    if not lines and photos:
        lines = [Line(title="Looked at the stored rig")]
    if not lines:
        return kept, None
    for photo in photos:
        hold(stay.rig, by=by, form_token=token, upload=photo)
    work = WorkDone(
        rig=stay.rig,
        on=on,
        lines=lines,
        doer=by.name,
        place=stay.place,
        notes=fields.get("note", ""),
        wheels=wheels or Wheels(),
        form_token=token,
    )
    return kept, record_work(work, by=by, today=today)
