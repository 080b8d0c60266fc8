"""A reading as its form gives it: through the gate, at a fuel stop with the fuel."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.units import show
from maintenance.households.models import Member
from maintenance.ui.words import day_words

from .forms import ReadingForm, usual_volume_unit
from .gate import Figure
from .hubs import add_towed
from .models import Meter, Reading
from .runs import log_run, logged_words
from .services import let_leave, record_fuel_stop, record_reading

ROLLED = 1  # mile or km by which a rig moves about where it stands


@dataclass(frozen=True)
class Given:
    """A reading that was kept, said back in words."""

    reading: Reading | None  # None: miles towed, kept as a trip; a run of a generator
    words: str  # “Juniper, 57,900 mi on 1 May 2026: 600 mi since 1 Apr 2026.”


def record_reading_from_form(
    form: ReadingForm,
    *,
    by: Member,
    today: date,
    meter: Meter,
    value: Decimal,
    on: date,
    volume: Decimal | None = None,
    price: Decimal | None = None,
    full: bool = False,
    left_on: date | None = None,
    still: bool = False,
    **_typed: Any,
) -> Given:
    """Store the reading of a form, or ask back in it, also when the rig has moved since
    it was due out of storage: then it left on `left_on`, or is there `still`. With
    `volume`, in the household's usual unit, it was at a fuel stop. Of a trailer without
    a hub meter it is what was towed since, of a generator without a meter one run."""
    if words := _without_meter(meter, by, today, on, value):
        return Given(None, words)
    meant = form.figure(today)
    if on <= today and not still and has_moved(meant, on):
        let_leave(meant.meter.rig, by=by, today=today, begins=on, left_on=left_on)
    told: dict[str, Any] = {
        "by": by, "today": today, "on": on, "value": meant.value,
        "confirmed": meant.confirmed, "questionable": meant.questionable,
    }  # fmt: skip
    if volume:
        unit = usual_volume_unit(by.household)
        fuel: dict[str, Any] = {
            "volume": volume, "unit": unit, "price": price, "full": full,
        }  # fmt: skip
        return Given(
            record_fuel_stop(meant.meter, **told, **fuel).reading, _said(meant, on)
        )
    return Given(record_reading(meant.meter, **told), _said(meant, on))


def _without_meter(
    meter: Meter, by: Member, today: date, on: date, value: Decimal
) -> str:
    """Keep what no meter shows, and say it back; empty where a meter shows it."""
    if meter.by_trips:
        trip = add_towed(meter, by=by, today=today, on=on, distance=value)
        towed = show(trip.distance or Decimal(0), trip.unit)
        return f"Distance towed of {trip.rig}: {towed}."
    if meter.by_runs:
        log_run(meter.rig, by=by, today=today, on=on, hours=value)
        return f"Generator of {meter.rig}: {logged_words(meter)}."
    return ""


def _said(meant: Figure, on: date) -> str:
    shown = show(meant.value, meant.meter.unit)
    words = f"{meant.meter.rig}, {shown} on {day_words(on)}"
    if meant.questionable:
        return f"{words}: questionable, so it doesn't count."
    return f"{words}: {meant.echo}." if meant.echo else f"{words}."


def has_moved(figure: Figure, on: date) -> bool:
    """Whether it shows more than before, though the rig is in a stay of which the end
    that was planned has passed. Rolled about the lot is no trip."""
    meter = figure.meter
    open_stays = meter.rig.stays.filter(start__lt=on, ended_on=None, withdrawn=False)
    stay = open_stays.order_by("start").last()
    if meter.unit == "h" or figure.questionable or stay is None:
        return False
    before = meter.readings.filter(on__lte=on, withdrawn=False, doubtful=False)
    last = before.order_by("on", "entered_at").last()
    return (
        stay.planned_until is not None
        and stay.planned_until < on
        and last is not None
        and figure.value > last.value + ROLLED
    )
