"""What a procedure asks for, beside what the household has on its list."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.library.model import Procedure
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import ItemSupply, PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.supplies.matching import (
    asks_for_torque_wrench,
    head_text,
    is_at_hand,
    same_thing,
    supply_answers,
    tool_answers,
)
from maintenance.supplies.models import Supply, Tool, ToolKind
from maintenance.supplies.queries import Belongings
from maintenance.supplies.stock import amount_words, stock_words


@dataclass(frozen=True, slots=True)
class ToolNeed:
    """`has` names what answers; `missing`: nothing on the list does."""

    asked: str
    has: str
    missing: bool
    wrench: bool


@dataclass(frozen=True, slots=True)
class SupplyNeed:
    """`asked` is empty for what the owner added; `missing`: none, or too little."""

    asked: str
    supply: Supply | None
    use: ItemSupply | None
    words: str
    missing: bool


@dataclass(frozen=True, slots=True)
class Needs:
    """`listed`: the household keeps a list, so that something can be missing."""

    tools: list[ToolNeed]
    supplies: list[SupplyNeed]
    listed: bool

    @property
    def missing(self) -> list[str]:
        if not self.listed:
            return []
        tools = [need.asked for need in self.tools if need.missing]
        return tools + [
            need.asked or str(need.supply) for need in self.supplies if need.missing
        ]


def needs_of(item: PlanItem, procedure: Procedure | None, has: Belongings) -> Needs:
    uses = list(item.supplies.select_related("supply"))
    return needs_from(uses, procedure, has)


def needs_from(
    uses: Sequence[ItemSupply], procedure: Procedure | None, has: Belongings
) -> Needs:
    """The same for uses at hand, so that many items cost no query each."""
    asked_tools = procedure.tools if procedure else ()
    asked_supplies = procedure.supplies if procedure else ()
    by_words = {use.asked: use for use in uses if use.asked in asked_supplies}
    others = [use for use in uses if use not in by_words.values()]
    return Needs(
        tools=[_tool(asked, has) for asked in asked_tools],
        supplies=[_supply(asked, by_words.get(asked), has) for asked in asked_supplies]
        + [_used("", use) for use in others],
        listed=bool(has),
    )


def _tool(asked: str, has: Belongings) -> ToolNeed:
    wrench = asks_for_torque_wrench(asked)
    if wrench:
        names = [tool.name for tool in has.torque_wrenches]
    else:
        names = [
            _named(tool)
            for tool in (*has.sockets, *has.other_tools)
            if tool_answers(f"{tool.name} {_kind_word(tool)}", asked)
        ]
    missing = not names and not is_at_hand(asked)
    return ToolNeed(asked, ", ".join(names), missing, wrench)


def _kind_word(tool: Tool) -> str:
    return "socket" if tool.kind == ToolKind.SOCKET else ""


def _named(tool: Tool) -> str:
    return f"{tool.name} {tool.size}" if tool.size else tool.name


def _supply(asked: str, use: ItemSupply | None, has: Belongings) -> SupplyNeed:
    if use is not None:
        return _used(asked, use)
    found = next((one for one in has.supplies if supply_answers(one.name, asked)), None)
    if found is None:
        return SupplyNeed(asked, None, None, "", missing=not is_at_hand(asked))
    return SupplyNeed(asked, found, None, stock_words(found), found.stock == 0)


def _used(asked: str, use: ItemSupply) -> SupplyNeed:
    there = use.supply.stock
    words = (
        f"{stock_words(use.supply)}, {amount_words(use.amount, use.supply.unit)} each "
        "time"
    )
    return SupplyNeed(
        asked, use.supply, use, words, there is not None and there < use.amount
    )


# --- changing -------------------------------------------------------------------------


@transaction.atomic
def use_supply(
    item: PlanItem, *, by: Member, supply: Supply, amount: Decimal, asked: str = ""
) -> ItemSupply:
    """The item's work uses this up, so much each time. Said again, it is changed."""
    require(by, Role.CREW)
    refuse_dropped([item])
    if supply.household_id != item.rig.household_id:
        raise Refused("This isn't on your list.", field="supply")
    made, _new = ItemSupply.objects.update_or_create(
        item=item, supply=supply, defaults={"amount": amount, "asked": asked}
    )
    note_activity(by, "added what it uses", f"{item}: {supply}")
    return made


@transaction.atomic
def stop_using(use: ItemSupply, *, by: Member) -> None:
    require(by, Role.CREW)
    note_activity(by, "removed what it uses", str(use))
    use.delete()


# --- what all plans ask for -----------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AskedFor:
    """Names of what plans ask for and nothing on the list answers, most asked first."""

    tools: list[tuple[str, int]]
    supplies: list[tuple[str, int]]
    wrench: bool


def asked_for(household: Household) -> AskedFor:
    has = Belongings(household)
    procedures = procedures_of(household)
    rows = PlanItem.objects.for_household(household).active()
    answered = {
        (use.item_id, use.asked) for use in ItemSupply.objects.filter(item__in=rows)
    }
    tools: dict[str, int] = {}
    supplies: dict[str, int] = {}
    wrench = False
    for pk, key in rows.values_list("pk", "key"):
        one = procedures.get(key)
        for asked in one.tools if one else ():
            need = _tool(asked, has)
            wrench = wrench or (need.wrench and need.missing)
            if need.missing and not need.wrench:
                _count(tools, head_text(asked))
        for asked in one.supplies if one else ():
            if (pk, asked) not in answered and _supply(asked, None, has).missing:
                _count(supplies, head_text(asked))
    return AskedFor(_most_first(tools), _most_first(supplies), wrench)


def _count(found: dict[str, int], name: str) -> None:
    same = next((one for one in found if same_thing(one, name)), name)
    found[same] = found.get(same, 0) + 1


def _most_first(found: dict[str, int]) -> list[tuple[str, int]]:
    return sorted(found.items(), key=lambda pair: (-pair[1], pair[0]))


@transaction.atomic
def add_to_inventory(
    household: Household,
    *,
    by: Member,
    tools: Iterable[str] = (),
    supplies: Iterable[str] = (),
) -> int:
    """Put on the list what was ticked, and say how many; what is there stays."""
    require(by, Role.CREW)
    made = [
        Tool.objects.get_or_create(
            household=household, name=name, defaults={"kind": ToolKind.OTHER}
        )[1]
        for name in tools
    ]
    made += [
        Supply.objects.get_or_create(household=household, name=name, part_number="")[1]
        for name in supplies
    ]
    note_activity(by, "ticked tools and supplies", f"{sum(made)} new")
    return sum(made)
