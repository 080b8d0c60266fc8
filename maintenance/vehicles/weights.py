"""Keeping what labels say and what a scale said."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.core.units import convert, show
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused

from .models import Rig, RigKind, ScaleTicket, WeightLabel
from .services import refuse_future

MOST = {"gvwr": 80000, "gcwr": 120000, "capacity": 20000, "uvw": 80000}  # lb
LEAST = 100  # lb; less than that nothing on wheels weighs
MOST_ON_AXLE = 40000  # lb
# lb of GVWR: above it a vehicle is a commercial one by its weight (49 CFR 390.5).
HEAVY = 10000


def heavy_rigs(rigs: Iterable[Rig]) -> set[int]:
    """The ids of those that are heavy motor vehicles, by one query. Without a GVWR on
    record a motorhome counts as one, a campervan or a tow vehicle does not."""
    motor = {rig.pk: rig for rig in rigs if not rig.is_trailer}
    if not motor:
        return set()
    labels = WeightLabel.objects.filter(rig__in=motor, gvwr__isnull=False)
    pounds = {one.rig_id: convert(one.gvwr, one.unit, "lb") for one in labels}
    return {
        pk
        for pk, rig in motor.items()
        if (pounds[pk] > HEAVY if pk in pounds else rig.kind == RigKind.MOTORHOME)
    }


@transaction.atomic
def keep_label(rig: Rig, *, by: Member, **fields: Any) -> WeightLabel:
    require(by, Role.KEEPER)
    unit = fields["unit"]
    for name, most in MOST.items():
        least = 0 if name == "capacity" else LEAST
        _check_weight(fields.get(name), unit, least, most, name)
    gvwr, uvw = fields.get("gvwr"), fields.get("uvw")
    if gvwr is not None and uvw is not None and uvw > gvwr:
        raise Refused(
            "Its empty weight is above its limit. Check which figure is which.",
            field="uvw",
        )
    if fields.get("capacity") is not None and not fields.get("kind"):
        raise Refused(
            "Choose the kind of label: its figure means something different on each.",
            field="kind",
        )
    label, _made = WeightLabel.objects.update_or_create(rig=rig, defaults=fields)
    note_activity(by, "saved weight label", rig.name)
    return label


@transaction.atomic
def keep_ticket(
    ticket: ScaleTicket | None, *, by: Member, today: date, **fields: Any
) -> ScaleTicket:
    """A new one, or one corrected."""
    require(by, Role.CREW)
    refuse_future(fields["on"], today)
    for name in ("steer", "drive", "tag", "behind"):
        _check_weight(fields.get(name), fields["unit"], 0, MOST_ON_AXLE, name)
    if (fields.get("trailer") is None) != (fields.get("behind") is None):
        raise Refused(
            (
                "For a coupled ticket, enter the trailer and its axle weight; "
                "for one alone, neither."
            ),
            field="behind",
        )
    row = ticket or ScaleTicket()
    for name, value in fields.items():
        setattr(row, name, value)
    row.save()
    note_activity(by, "saved scale ticket", str(row))
    return row


@transaction.atomic
def remove_ticket(ticket: ScaleTicket, *, by: Member) -> None:
    require(by, Role.CREW)
    note_activity(by, "removed scale ticket", str(ticket))
    ticket.delete()


def _check_weight(
    value: Decimal | None, unit: str, least: int, most: int, field: str
) -> None:
    if value is None or least <= convert(value, unit, "lb") <= most:
        return
    ends: Mapping[str, str] = {
        name: show(convert(Decimal(end), "lb", unit), unit, places=0)
        for name, end in (("least", least), ("most", most))
    }
    raise Refused(
        (
            f"{show(value, unit)} can't be right. Enter {ends['least']} to "
            f"{ends['most']}."
        ),
        field=field,
    )
