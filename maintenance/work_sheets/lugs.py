"""Torque of wheel nuts: whose figure, and which wrench of the household will do."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django.db import models

from maintenance.library.model import Measure, Procedure
from maintenance.plans.models import MakerFigure
from maintenance.supplies.models import Tool
from maintenance.supplies.wrenches import Verdict, judge_for_lugs

TORQUE = "torque"


class FigureOrigin(models.TextChoices):
    INVOICE = "invoice", "Invoice from the shop that put the wheel on"
    MANUAL = "manual", "Manufacturer's manual"
    PLACARD = "placard", "Placard on the rig"


class TorqueUnit(models.TextChoices):
    FOOT_POUNDS = "ft·lbf", "ft·lbf"
    NEWTON_METERS = "N·m", "N·m"


def is_lug_torque(measure: Measure) -> bool:
    return measure.name == TORQUE and measure.per == "wheel"


def is_lug_work(procedure: Procedure | None) -> bool:
    return procedure is not None and any(map(is_lug_torque, procedure.measures))


def makers_torque(maker: MakerFigure | None) -> tuple[Decimal, str] | None:
    """The single figure of the maker's book, with its unit."""
    for one in maker.values.all() if maker else ():
        is_torque = one.name.casefold() == TORQUE and one.unit in TorqueUnit.values
        if is_torque and one.up_to is None:
            return one.value.normalize(), one.unit
    return None


def wrenches_for(
    tools: Iterable[Tool], today: date, figure: Decimal | None, unit: str
) -> list[Verdict]:
    """Every torque wrench, the ones that fit and can be trusted first."""
    found = [judge_for_lugs(tool, today, figure, unit) for tool in tools]
    return sorted(found, key=lambda one: (one.fits is False, not one.trusted))
