"""Plain functions that make rows with sensible defaults; no random data."""

from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth import get_user_model

from maintenance.households.models import Household, Member, Role
from maintenance.plans.models import PlanItem
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.services import record_work
from maintenance.service_records.work import Costs, Warranty, WorkDone
from maintenance.vehicles.models import Meter, Reading, Rig

TODAY = date(2026, 5, 4)
PASSWORD = "a long phrase for tests"
COSTS = ("labor", "parts", "tax", "total")
_numbers = count(1)


def make_household(**fields) -> Household:
    fields.setdefault("name", "Alder Lane")
    fields.setdefault("timezone", "America/Denver")
    return Household.objects.create(**fields)


def make_member(
    household: Household | None = None, role: str = Role.KEEPER, **fields
) -> Member:
    household = household or make_household()
    n = next(_numbers)
    user = get_user_model().objects.create_user(
        fields.pop("username", f"{role}{n}"),
        fields.pop("email", f"{role}{n}@example.org"),
        PASSWORD,
    )
    fields.setdefault("name", f"{role} {n}")
    fields.setdefault("joined_on", date(2024, 1, 1))
    return Member.objects.create(household=household, user=user, role=role, **fields)


def make_rig(household: Household | None = None, **fields) -> Rig:
    """A motorhome with an odometer in miles, in service since June 2019."""
    meter = fields.pop("meter", {"kind": "odometer", "unit": "mi"})
    fields.setdefault("name", f"Rig {next(_numbers)}")
    fields.setdefault("kind", "motorhome")
    fields.setdefault("wheels", "four")
    fields.setdefault("in_service_on", date(2019, 6, 1))
    rig = Rig.objects.create(household=household or make_household(), **fields)
    if meter:
        Meter.objects.create(rig=rig, in_service_value=Decimal(12), **meter)
    return rig


def make_reading(rig: Rig, on: date, value: str | int, kind: str = "odometer"):
    meter = rig.meters.get(kind=kind)
    return Reading.objects.create(meter=meter, on=on, value=Decimal(value))


def make_item(rig: Rig, key: str = "engine_oil", **fields) -> PlanItem:
    fields.setdefault("title", key.replace("_", " ").capitalize())
    fields.setdefault("system", "chassis-engine")
    fields.setdefault("triggers", [{"every": {"months": 12}}])
    fields.setdefault("taken_on", date(2024, 1, 1))
    return PlanItem.objects.create(rig=rig, key=key, **fields)


def log_work(
    rig: Rig, *, by: Member, today: date = TODAY, **fields: Any
) -> ServiceRecord:
    """Record work; costs and warranty are given by their columns."""
    costs = {name: fields.pop(name) for name in COSTS if name in fields}
    warranty = {
        name.removeprefix("warranty_"): fields.pop(name)
        for name in list(fields)
        if name.startswith("warranty_")
    }
    parts = fields.pop("parts_used", ())
    if fields.get("wheels") is None:
        fields.pop("wheels", None)
    fields = {"on": today, "doer": by.name, **fields}
    work = WorkDone(
        rig=rig,
        costs=Costs(**costs),
        parts=parts,
        warranty=Warranty(**warranty),
        **fields,
    )
    return record_work(work, by=by, today=today).record
