"""A household with work of every kind, and mail on its way."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from maintenance.households.models import Household, Member
from maintenance.library.proposals import resolve_triggers
from maintenance.library.reading import load_library
from maintenance.plans.models import Completion, PlanItem
from maintenance.plans.standings import renew_household
from maintenance.reminders.models import Digest, Notice
from maintenance.reminders.services import make_digest, raise_notices
from maintenance.vehicles.models import Event, Rig
from tests.builders import (
    TODAY,
    make_household,
    make_item,
    make_member,
    make_reading,
    make_rig,
)


def make_home(**fields: Any) -> tuple[Member, Rig]:
    """A keeper with mail and a motorhome that is driven every month."""
    home = make_household(**fields)
    member = make_member(home, name="Robin")
    # Its readings come monthly: nobody is to be asked whether it is parked.
    rig = make_rig(home, name="Juniper", said_in_use_on=TODAY)
    for months in range(12):
        on = TODAY - timedelta(days=30 * (12 - months))
        make_reading(rig, on, 36000 + 500 * months)
    return member, rig


def take_on(rig: Rig, key: str, **fields: Any) -> PlanItem:
    """A procedure of the library on the plan of a rig."""
    procedure = load_library().procedures[key]
    meters = {meter.kind: meter.unit for meter in rig.meters.all()}
    given = {
        "title": procedure.title,
        "system": procedure.system,
        "triggers": resolve_triggers(procedure, meters),
        "safety": procedure.safety,
        "unfit": procedure.unfit_when_overdue,
        "anchored": procedure.anchored,
        "once": procedure.once,
    }
    return make_item(rig, key, **given | fields)


def done(item: PlanItem, on: date, **fields: Any) -> Completion:
    fields.setdefault("outcome", "done")
    return Completion.objects.create(item=item, on=on, **fields)


def overdue_item(rig: Rig, key: str = "overdue", **fields: Any) -> PlanItem:
    """Closed three days before TODAY."""
    return yearly(rig, key, TODAY - timedelta(days=3), **fields)


def due_item(rig: Rig, key: str = "due", **fields: Any) -> PlanItem:
    """Closes ten days after TODAY."""
    return yearly(rig, key, TODAY + timedelta(days=10), **fields)


def soon_item(rig: Rig, key: str = "soon", **fields: Any) -> PlanItem:
    """Opens twenty days after TODAY."""
    return yearly(rig, key, TODAY + timedelta(days=50), **fields)


def yearly(rig: Rig, key: str, closes: date, **fields: Any) -> PlanItem:
    item = make_item(rig, key, **fields)
    done(item, closes.replace(year=closes.year - 1))
    return item


def wheel_off(
    rig: Rig, on: date = TODAY, value: str | None = "42000", places: Any = None
) -> Event:
    values = {"odometer": value} if value else {}
    if value:
        make_reading(rig, on, value)
    return Event.objects.create(
        rig=rig, kind="wheel_off", on=on, values=values, places=places
    )


def entered(home: Household) -> None:
    """As a service leaves a household when it has changed something behind its rows."""
    Household.objects.filter(pk=home.pk).update(
        next_change_on=date.min, next_notice_on=date.min
    )


def renewed(home: Household, day: date = TODAY) -> Household:
    """As after the night's job of `day`."""
    renew_household(home, as_of=day)
    return home


def digest_for(member: Member, day: date = TODAY) -> Digest:
    """Raise all that there is to say, and make the day's mail of it."""
    raise_notices(member.household, today=day)
    made = make_digest(member, day=day)
    assert made is not None, "there is nothing to say"
    return made


def stages(notices: Iterable[Notice] | None = None) -> list[tuple[str, str]]:
    """(item key, stage) of each notice, in a fixed order."""
    rows = Notice.objects.all() if notices is None else notices
    return sorted((row.item.key, row.stage) for row in rows)


def noon(day: date, zone: str = "America/Denver") -> datetime:
    """Noon of a household's local day."""
    return datetime.combine(day, time(12), ZoneInfo(zone))
