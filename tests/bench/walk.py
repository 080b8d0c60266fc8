"""A wheel service recorded, and the rooms its walk goes through.

A room is an app, or the core. The walk counts what is entered from when the work is
handed over until what follows is known, and how often a lower room calls a higher one.
"""

import os
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import FrameType

ROOT = Path(__file__).parents[2] / "maintenance"
# From the top, as the contract of imports has them.
FLOORS = [
    *("pages", "planning", "calculators", "exchange", "packets", "reminders"),
    *("troubleshooting", "walkrounds", "service_records", "work_sheets", "findings"),
    *("plans", "library", "components", "supplies", "vehicles"),
    *("jobs", "households", "ui", "core"),
]


def rooms_of_a_wheel_service() -> tuple[list[str], int]:
    """The rooms in the order in which they are entered, and how often the walk climbs
    back up."""
    steps = _traced(_wheel_service())
    rooms = list(dict.fromkeys(room for _caller, room in steps))
    climbs = sum(
        caller is not None and FLOORS.index(room) < FLOORS.index(caller)
        for caller, room in steps
    )
    return rooms, climbs


def _wheel_service() -> Callable[[], object]:
    os.environ["DJANGO_SETTINGS_MODULE"] = "rigsite.settings"
    os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
    os.environ["LOG_LEVEL"] = "ERROR"
    import django

    django.setup()
    from django.core.management import call_command

    from maintenance.plans.services import take_on
    from maintenance.service_records.services import record_work
    from maintenance.service_records.torque import Wheels
    from maintenance.service_records.work import Line, WorkDone
    from tests import builders
    from tests.builders import TODAY

    call_command("migrate", verbosity=0)
    rig = builders.make_rig()
    by = builders.make_member(rig.household)
    builders.make_reading(rig, date(2026, 4, 1), 42000)
    keys = ["tire_rotate", "lug_recheck", "engine_oil"]
    rotate, *_others = take_on(rig, by=by, today=TODAY, keys=keys)
    wheels = Wheels(
        off=frozenset({"LF"}),
        figure=Decimal(110),
        origin="invoice",
        reached={"LF": Decimal(110)},
    )
    work = WorkDone(
        rig=rig,
        on=TODAY,
        lines=[Line(rotate.title, rotate)],
        doer="Ann",
        values={"odometer": Decimal(42310)},
        wheels=wheels,
    )
    return lambda: record_work(work, by=by, today=TODAY)


def _traced(act: Callable[[], object]) -> list[tuple[str | None, str]]:
    """Each call from one room into another."""
    steps: list[tuple[str | None, str]] = []

    def look(frame: FrameType, event: str, _arg: object) -> None:
        room = _room(frame)
        if event != "call" or room is None:
            return
        before = frame.f_back
        while before is not None and _room(before) is None:
            before = before.f_back
        caller = None if before is None else _room(before)
        if caller != room:
            steps.append((caller, room))

    sys.setprofile(look)
    try:
        act()
    finally:
        sys.setprofile(None)
    return steps


def _room(frame: FrameType) -> str | None:
    path = Path(frame.f_code.co_filename)
    if not path.is_relative_to(ROOT):
        return None
    room = path.relative_to(ROOT).parts[0]
    return room if room in FLOORS else None
