"""What to buy before a rig is put away."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from maintenance.core.calculators.answers import num
from maintenance.library.model import Procedure
from maintenance.plans.models import ItemSupply, PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.supplies.matching import is_at_hand
from maintenance.supplies.stock import amount_words, stock_words
from maintenance.vehicles.runways import StayRunways

from .work import Job


@dataclass(frozen=True, slots=True)
class Buy:
    """A supply, how much of it, what for; `short`: the stock does not do."""

    name: str
    words: str
    for_: str
    short: bool = False


def to_buy(ways: StayRunways, jobs: Sequence[Job]) -> list[Buy]:
    """For the work that is still to be done; in a stay that is over, nothing."""
    stay = ways.stay
    if stay.ended_on is not None:
        return []
    items = [job.item for job in jobs if job.open]
    procedures = procedures_of(stay.rig.household)
    return [*_antifreeze(ways), *_supplies(items, procedures)]


def _antifreeze(runways: StayRunways) -> Iterable[Buy]:
    amount = runways.antifreeze
    if amount is None:
        return
    least, most = num(amount.least.value, 1), num(amount.most.value, 1)
    yield Buy(
        "RV antifreeze (propylene glycol, never the engine's)",
        f"{least} to {most} gal",
        "lines, traps{heater}".format(
            heater="" if runways.setting.heater_bypassed else " and water heater"
        ),
    )


def _supplies(
    items: Sequence[PlanItem], procedures: Mapping[str, Procedure]
) -> Iterable[Buy]:
    rows = ItemSupply.objects.filter(item__in=items).select_related("supply", "item")
    kept = {row.item_id for row in rows}
    for row in rows:
        supply = row.supply
        words = f"{amount_words(row.amount, supply.unit)}; {stock_words(supply)}"
        short = supply.stock is not None and supply.stock < row.amount
        yield Buy(str(supply), words, row.item.title, short)
    for item in items:
        procedure = procedures.get(item.key)
        if procedure is not None and item.pk not in kept:
            for asked in procedure.supplies:
                if not is_at_hand(asked):
                    yield Buy(asked, "", item.title)
