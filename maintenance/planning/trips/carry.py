"""What to take along: tools and supplies of the work on the way, and the kit."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from maintenance.library.model import Procedure
from maintenance.plans.models import ItemSupply, PlanItem
from maintenance.supplies.matching import is_at_hand
from maintenance.supplies.queries import Belongings
from maintenance.supplies.stock import amount_words, stock_words
from maintenance.vehicles.models import Trip
from maintenance.work_sheets.needs import SupplyNeed, needs_from

# Common practice; the wheel-change kit as the library's check of it has it.
STANDING_KIT = (
    "Spare wheel, jack with base plate, wrench and socket that fit",
    "Torque wrench, half-inch drive, that covers your lug figure",
    "Wheel chocks, warning triangles, reflective vests, gloves",
    "Tire gauge that reaches your highest pressure",
    "Flashlight, infrared thermometer for hubs and tires",
    "Fuses of every rating you use, spare bulbs",
    "Fire extinguisher, first-aid kit",
    "Manufacturers' manuals, papers, roadside service number",
)


@dataclass(frozen=True, slots=True)
class Used:
    """An item whose work will be done so often on the way."""

    item: PlanItem
    times: int


@dataclass(slots=True)
class Thing:
    """A tool or a supply: what is yours, how much it takes, what for."""

    name: str
    words: str = ""
    missing: bool = False
    for_: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Carry:
    tools: list[Thing]
    supplies: list[Thing]
    kit: tuple[str, ...]
    listed: bool  # the household keeps a list, so that something can be missing


def carry_for(
    used: Sequence[Used], trip: Trip, procedures: Mapping[str, Procedure]
) -> Carry:
    has = Belongings(trip.rig.household)
    uses = _uses(used)
    tools: dict[str, Thing] = {}
    supplies: dict[str, Thing] = {}
    amounts: dict[int, Decimal] = defaultdict(Decimal)
    for one in used:
        needs = needs_from(uses[one.item.pk], procedures.get(one.item.key), has)
        for tool in needs.tools:
            if not is_at_hand(tool.asked):
                _note(tools, tool.asked, tool.has, tool.missing, one)
        for need in needs.supplies:
            if need.use is not None:
                amounts[need.use.supply_id] += need.use.amount * one.times
                _note_amount(supplies, need, amounts[need.use.supply_id], one)
            elif not is_at_hand(need.asked):
                _note(supplies, need.asked, need.words, need.missing, one)
    kit = tuple(str(words) for words in STANDING_KIT)
    return Carry([*tools.values()], [*supplies.values()], kit, bool(has))


def _uses(used: Iterable[Used]) -> dict[int, list[ItemSupply]]:
    found: dict[int, list[ItemSupply]] = defaultdict(list)
    items = [one.item for one in used]
    rows = ItemSupply.objects.filter(item__in=items).select_related("supply")
    for row in rows:
        found[row.item_id].append(row)
    return found


def _note(
    things: dict[str, Thing], asked: str, words: str, missing: bool, one: Used
) -> None:
    thing = things.setdefault(asked, Thing(asked, words, missing))
    if one.item.title not in thing.for_:
        thing.for_.append(one.item.title)


def _note_amount(
    things: dict[str, Thing], need: SupplyNeed, amount: Decimal, one: Used
) -> None:
    supply = need.supply
    if supply is None:
        return
    _note(things, str(supply), "", missing=False, one=one)
    thing = things[str(supply)]
    thing.words = f"{amount_words(amount, supply.unit)}; {stock_words(supply)}"
    thing.missing = supply.stock is not None and supply.stock < amount
