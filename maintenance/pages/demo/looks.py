"""Telling of walk-arounds, and of what is found without work."""

import uuid
from datetime import date

from maintenance.findings.services import (
    accept_finding,
    open_finding,
    plan_finding,
    set_for_shop,
)
from maintenance.walkrounds.rounds import (
    Wrong,
    finish_walkround,
    keep_look,
    start_walkround,
)

from .belongings import upload
from .rows import RoundStory
from .story import FindingStory, RigStory
from .told import Told


def find(told: Told, rig: RigStory, row: FindingStory, today: date) -> None:
    by = told.members[rig.hand]
    found = open_finding(
        told.rig(rig),
        by=by,
        on=today,
        what=row.what,
        unfit=row.unfit,
        zone=row.zone,
        severity=row.severity,
    )
    if row.plan is not None:
        title, due = row.what[:80], told.on(row.plan)
        plan_finding(found, by=by, today=today, title=title, due_on=due)
    if row.shop:
        set_for_shop(found, by=by, wanted=True)
    if row.accepted:
        accept_finding(found, by=by, why=row.accepted)


def go_round(told: Told, rig: RigStory, row: RoundStory, today: date) -> None:
    by = told.members[rig.hand]
    walkround = start_walkround(told.rig(rig), by=by, today=today)
    for look in row.looks:
        keep_look(
            walkround,
            by=by,
            today=today,
            token=uuid.uuid4(),
            zone=look.zone,
            same=look.same,
            words=look.words,
            uploads=[upload(told, look.photo)] if look.photo else [],
            wrong=Wrong(look.wrong, look.severity) if look.wrong else None,
        )
    if row.finished:
        finish_walkround(walkround, by=by, today=today)
