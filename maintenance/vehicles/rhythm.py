"""What is read at a stored rig and what its runways rest on. Each change brings the
rhythm of its stays, and with it the standings, up to date."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.core.calculators.answers import CalculatorError
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import Rig, RunwaySetting, Stay, StayVisit
from .runways import WHICH, StayRunways, charge_of, drain_of, runways_of


def set_rhythm(stay: Stay) -> None:
    """What its runways ask now, on the stay, which the caller saves."""
    try:
        stay.rhythm = runways_of(stay).rhythm()
    except CalculatorError as error:
        raise Refused(str(error), field=_field_of(error)) from None


def _field_of(error: CalculatorError) -> str | None:
    return "usual" if "temperature" in error.what else None


@transaction.atomic
def keep_visit(
    stay: Stay, *, by: Member, today: date, on: date, **fields: Any
) -> StayVisit:
    """What was read on a day of the stay; said again for that day, it is replaced.

    A reading of a battery takes the place of the estimate from then on.
    """
    require(by, Role.CREW)
    _check_day(stay, on, today)
    _check_states(stay, fields)
    visit, _new = StayVisit.objects.update_or_create(
        stay=stay, on=on, defaults={**fields, "entered_by": by}
    )
    note_activity(by, "visited rig in storage", f"{stay.rig} on {day_words(on)}")
    _renew(stay.rig, today)
    return visit


def _check_day(stay: Stay, on: date, today: date) -> None:
    last = min(stay.ended_on or today, today)
    if not stay.start <= on <= last:
        raise Refused(
            (
                f"Enter a day in storage, from {day_words(stay.start)} to "
                f"{day_words(last)}."
            ),
            field="on",
        )


def _check_states(stay: Stay, fields: Mapping[str, Any]) -> None:
    setting = runways_of(stay).setting
    for which in WHICH:
        text = fields.get(which)
        if not text:
            continue
        try:
            charge_of(text, getattr(setting, f"{which}_kind"))
        except CalculatorError as error:
            raise Refused(str(error), field=which) from None


@transaction.atomic
def set_runways(rig: Rig, *, by: Member, today: date, **fields: Any) -> RunwaySetting:
    """What a rig's runways rest on, kept for this stay and those to come."""
    require(by, Role.CREW)
    found = RunwaySetting.objects.filter(rig=rig).first() or RunwaySetting(rig=rig)
    for name, value in fields.items():
        setattr(found, name, value)
    _check_setting(found)
    found.save()
    note_activity(by, "entered figures for storage", rig.name)
    _renew(rig, today)
    return found


def _check_setting(setting: RunwaySetting) -> None:
    """Refused at the field for what no battery, trap or appliance can be."""
    probe = Stay(
        rig=setting.rig, start=date(2000, 1, 1), usual=Decimal(50), lowest=Decimal(50)
    )
    for field, ask in _checks(setting, probe):
        try:
            ask()
        except CalculatorError as error:
            raise Refused(str(error), field=field) from None


def _checks(setting: RunwaySetting, probe: Stay) -> list[tuple[str, Any]]:
    ways = StayRunways(probe, setting, ())
    return [
        ("chassis_drain", lambda: drain_of(setting, "chassis")),
        ("house_drain", lambda: drain_of(setting, "house")),
        ("chassis_capacity", lambda: ways.battery("chassis")),
        ("house_capacity", lambda: ways.battery("house")),
        ("seal", lambda: ways.traps),
        ("propane", lambda: ways.propane),
    ]


def _renew(rig: Rig, today: date) -> None:
    for stay in rig.stays.filter(ended_on__isnull=True, withdrawn=False):
        set_rhythm(stay)
        stay.save(update_fields=["rhythm"])
    inputs_changed.send(
        sender=Rig, household=rig.household, rig_ids=[rig.pk], as_of=today
    )
