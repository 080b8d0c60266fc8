"""Changing the household's list of tools and supplies."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused

from .models import Supply, Tool, ToolKind
from .stock import put_in, stock_words


@transaction.atomic
def add_tool(household: Household, *, by: Member, today: date, **fields: Any) -> Tool:
    return _save_tool(Tool(household=household), by, today, fields, "added tool")


@transaction.atomic
def change_tool(tool: Tool, *, by: Member, today: date, **fields: Any) -> Tool:
    return _save_tool(tool, by, today, fields, "changed tool")


def _save_tool(
    tool: Tool, by: Member, today: date, fields: dict[str, Any], what: str
) -> Tool:
    require(by, Role.CREW)
    for name, value in fields.items():
        setattr(tool, name, value)
    _lock(tool.household)
    same = Tool.objects.for_household(tool.household).filter(name=tool.name)
    if same.exclude(pk=tool.pk).exists():
        raise Refused("There's already a tool with this name.", field="name")
    _check_tool(tool, today)
    tool.save()
    note_activity(by, what, str(tool))
    return tool


def _check_tool(tool: Tool, today: date) -> None:
    if tool.calibrated_on is not None and tool.calibrated_on > today:
        raise Refused(
            "This day is still to come. Enter the day of the last calibration.",
            field="calibrated_on",
        )
    if tool.kind != ToolKind.TORQUE_WRENCH:
        return
    if tool.full_scale is None or tool.full_scale <= 0:
        raise Refused(
            "Enter the highest mark of its scale, like 150.", field="full_scale"
        )
    if not tool.unit:
        raise Refused("Choose the unit of its scale.", field="unit")
    if tool.lowest_mark is not None and tool.lowest_mark >= tool.full_scale:
        raise Refused("The lowest mark must be below the highest.", field="lowest_mark")


@transaction.atomic
def remove_tool(tool: Tool, *, by: Member) -> None:
    """Off the list. Records name the wrench in words of their own."""
    require(by, Role.CREW)
    note_activity(by, "removed tool", str(tool))
    tool.delete()


@transaction.atomic
def add_supply(household: Household, *, by: Member, **fields: Any) -> Supply:
    return _save_supply(Supply(household=household), by, fields, "added supply")


@transaction.atomic
def change_supply(supply: Supply, *, by: Member, **fields: Any) -> Supply:
    return _save_supply(supply, by, fields, "changed supply")


def _save_supply(
    supply: Supply, by: Member, fields: dict[str, Any], what: str
) -> Supply:
    require(by, Role.CREW)
    for name, value in fields.items():
        setattr(supply, name, value)
    _lock(supply.household)
    same = Supply.objects.for_household(supply.household).filter(
        name=supply.name, part_number=supply.part_number
    )
    if same.exclude(pk=supply.pk).exists():
        raise Refused(
            "This is already on the list, with the same part number.", field="name"
        )
    supply.save()
    note_activity(by, what, str(supply))
    return supply


@transaction.atomic
def remove_supply(supply: Supply, *, by: Member) -> None:
    """Off the list. Records keep what was used, in words."""
    require(by, Role.CREW)
    note_activity(by, "removed supply", str(supply))
    supply.delete()


@transaction.atomic
def buy(supply: Supply, *, by: Member, amount: Decimal) -> Supply:
    """Put what was bought into stock; counting begins with it where it had not."""
    require(by, Role.CREW)
    if supply.stock is None:
        Supply.objects.filter(pk=supply.pk, stock__isnull=True).update(stock=Decimal(0))
    put_in(supply, amount)
    supply.refresh_from_db(fields=["stock"])
    note_activity(by, "bought", f"{supply}: {stock_words(supply)}")
    return supply


def _lock(household: Household) -> None:
    """One at a time, so that a name that is to be there once is looked for in peace."""
    Household.objects.select_for_update().get(pk=household.pk)
