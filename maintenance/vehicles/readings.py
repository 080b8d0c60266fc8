"""A reading as its form gives it: through the gate, at a fuel stop with the fuel."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.units import show
from maintenance.households.models import Member
from maintenance.ui.words import day_words

from .forms import ReadingForm, usual_volume_unit
from .models import Reading
from .services import record_fuel_stop, record_reading


@dataclass(frozen=True)
class Given:
    """A reading that was kept, said back in words."""

    reading: Reading
    words: str  # “Juniper, 57,900 mi on 1 May 2026: 600 mi since 1 Apr 2026.”


def give(
    form: ReadingForm,
    *,
    by: Member,
    today: date,
    on: date,
    volume: Decimal | None = None,
    price: Decimal | None = None,
    full: bool = False,
    **_typed: Any,
) -> Given:
    """Store the reading of a form, or ask back in it. With `volume`, in the household's
    usual unit, it was at a fuel stop."""
    meant = form.figure(today)
    if volume:
        reading = record_fuel_stop(
            meant.meter,
            by=by,
            today=today,
            on=on,
            value=meant.value,
            volume=volume,
            unit=usual_volume_unit(by.household),
            price=price,
            full=full,
            confirmed=meant.confirmed,
            questionable=meant.questionable,
        ).reading
    else:
        reading = record_reading(
            meant.meter,
            by=by,
            today=today,
            on=on,
            value=meant.value,
            confirmed=meant.confirmed,
            questionable=meant.questionable,
        )
    shown = show(meant.value, meant.meter.unit)
    words = f"{meant.meter.rig}, {shown} on {day_words(on)}"
    if meant.questionable:
        return Given(reading, f"{words}: questionable, so it doesn't count.")
    return Given(reading, f"{words}: {meant.echo}." if meant.echo else f"{words}.")
