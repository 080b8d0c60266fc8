"""Hours of a generator without an hour meter: a log of its runs."""

from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import Min, Sum

from maintenance.core.units import show
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import Meter, MeterKind, MeterUnit, Rig, Run
from .services import refuse_future
from .state import refuse_after_sale
from .trips import renew

DAY = Decimal(24)  # hours


@transaction.atomic
def log_run(rig: Rig, *, by: Member, today: date, on: date, hours: Decimal) -> Run:
    """The generator ran so long on that day. The first run begins the log."""
    require(by, Role.CREW)
    meter = _meter(rig) or Meter.objects.create(
        rig=rig, kind=MeterKind.GENERATOR, unit=MeterUnit.HOURS, logged=True
    )
    Meter.objects.select_for_update().get(pk=meter.pk)
    run = Run(meter=meter, on=on, hours=hours, entered_by=by)
    check_run(run, today)
    run.save()
    note_activity(by, "logged run", f"{rig}: {show(hours, 'h')} on {day_words(on)}")
    renew([rig], today)
    return run


def check_run(run: Run, today: date) -> None:
    """Refused for what cannot be: a day has 24 hours, and once a meter is fitted it
    counts by itself."""
    refuse_future(run.on, today)
    refuse_after_sale(run.meter.rig, run.on)
    _refuse_beside_meter(run.meter, run.on)
    if run.hours <= 0:
        raise Refused("Enter the hours it ran, like 2.5.", field="hours")
    others = run.meter.runs.filter(on=run.on, withdrawn=False).exclude(pk=run.pk)
    before = others.aggregate(hours=Sum("hours"))["hours"] or Decimal(0)
    if before + run.hours > DAY:
        told = (
            f" {show(before, 'h')} of that day are already entered." if before else ""
        )
        raise Refused(
            f"{show(run.hours, 'h')} on {day_words(run.on)} can't be right: a day has "
            f"24.{told} Enter each day separately, like 2.5.",
            field="hours",
        )


def _refuse_beside_meter(meter: Meter, on: date) -> None:
    if not meter.logged:
        raise Refused(f"{meter.rig} has an hour meter: enter what it shows.")
    counting = meter.readings.filter(withdrawn=False)
    fitted = counting.aggregate(on=Min("on"))["on"]
    if fitted is not None and on > fitted:
        raise Refused(
            f"It has had an hour meter since {day_words(fitted)}: enter what it shows.",
            field="on",
        )


def _meter(rig: Rig) -> Meter | None:
    return rig.meters.filter(kind=MeterKind.GENERATOR).first()


def logged_words(meter: Meter) -> str:
    """“34.5 h by 6 logged runs, the last on 1 May 2026”."""
    runs = list(meter.runs.filter(withdrawn=False).order_by("on"))
    if not runs:
        return "no run logged yet"
    total = show(sum((run.hours for run in runs), Decimal(0)), "h", places=1)
    some = "1 logged run" if len(runs) == 1 else f"{len(runs)} logged runs"
    return f"{total} by {some}, the last on {day_words(runs[-1].on)}"
