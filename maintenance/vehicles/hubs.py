"""Towed distance without a meter, by what people say they towed; and a hub meter, which
counts it from its fitting on until it is removed."""

from datetime import date
from decimal import Decimal

from django.db import transaction

from maintenance.core.units import convert, show
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import Meter, MeterKind, Reading, Rig, Trip
from .not_towed import told_trips, towed_since
from .services import refuse_future, store_reading
from .state import refuse_after_sale
from .trips import MOST_A_DAY, renew

BY_HAND = "Towed miles entered by hand"


@transaction.atomic
def add_towed(
    meter: Meter, *, by: Member, today: date, on: date, distance: Decimal
) -> Trip:
    """So far was it towed since it was last told, in the meter's unit, by `on`."""
    require(by, Role.CREW)
    refuse_future(on, today)
    refuse_after_sale(meter.rig, on)
    since = towed_since(meter.rig)
    days = max((on - since).days, 0) + 1
    most = days * MOST_A_DAY[meter.unit]
    if on < since:
        raise Refused(
            f"We know how far it was towed up to {day_words(since)}. Enter "
            "that day or a later one.",
            field="on",
        )
    if not 0 < distance <= most:
        raise Refused(
            f"{show(distance, meter.unit)} since {day_words(since)} can't be "
            "right. Enter the distance towed since then, at most "
            f"{show(most, meter.unit)}.",
            field="value",
        )
    closed = told_trips(meter.rig).filter(by_hand=False, end=on).first()
    if closed is not None:
        raise Refused(
            f"“{closed}” was closed out for that day. Correct its distance instead.",
            field="on",
        )
    made = _towed(meter, on, distance, today, by_hand=True)
    note_activity(
        by, "entered towed distance", f"{meter.rig}: {show(distance, meter.unit)}"
    )
    renew([meter.rig], today)
    return made


def _towed(
    meter: Meter, on: date, distance: Decimal, today: date, *, by_hand: bool = False
) -> Trip:
    """As a trip told by hand on its last day: nobody knows the others."""
    return Trip.objects.create(
        rig=meter.rig,
        title=BY_HAND,
        start=on,
        end=on,
        distance=distance,
        unit=meter.unit,
        told_on=today,
        by_hand=by_hand,
    )


@transaction.atomic
def fit_hub(rig: Rig, *, by: Member, today: date, on: date, value: Decimal) -> Meter:
    """A hub meter that shows `value` on that day; what was towed before stays."""
    require(by, Role.KEEPER)
    refuse_future(on, today)
    refuse_after_sale(rig, on)
    meter = rig.meters.filter(kind=MeterKind.TOWED).first()
    if meter is None or not meter.by_trips:
        raise Refused(f"{rig} already has a hub meter.")
    store_reading(meter, by=by, on=on, value=value)
    Meter.objects.filter(pk=meter.pk).update(hub_confirmed_on=on)
    note_activity(by, "installed hub meter", f"{rig}, {day_words(on)}")
    renew([rig], today)
    return meter


@transaction.atomic
def remove_hub(rig: Rig, *, by: Member, today: date) -> None:
    """There is none: its readings become miles towed, beside those of closed trips."""
    require(by, Role.KEEPER)
    meter = rig.meters.filter(kind=MeterKind.TOWED).first()
    rows = [] if meter is None else list(_readings(meter))
    if meter is None or not (rows or meter.hub_confirmed_on):
        raise Refused(f"{rig} has no hub meter.")
    # A meter that was fitted began somewhere; what nobody fitted was a sum from 0.
    start = rows[0].value if rows and meter.hub_confirmed_on else Decimal(0)
    base = _credited(rig, rows[0].on, meter.unit) if start else Decimal(0)
    for row in rows:
        more = row.value - start + base - _credited(rig, row.on, meter.unit)
        if more > 0:
            _towed(meter, row.on, more, today)
    Reading.objects.filter(pk__in=[row.pk for row in rows]).update(withdrawn=True)
    Meter.objects.filter(pk=meter.pk).update(hub_confirmed_on=None)
    note_activity(by, "removed hub meter", rig.name)
    renew([rig], today)


def _readings(meter: Meter):
    good = meter.readings.filter(withdrawn=False, doubtful=False)
    return good.order_by("on", "entered_at")


def _credited(rig: Rig, on: date, unit: str) -> Decimal:
    """What closed trips say by then, in the meter's unit."""
    rows = told_trips(rig).filter(end__lte=on, distance__isnull=False)
    found = (convert(one.distance or Decimal(0), one.unit, unit) for one in rows)
    return sum(found, Decimal(0)).quantize(Decimal("0.1"))
