"""Which items of the library go with a component, and what life its own dates give."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintenance.components.models import ALARM_TYPES, TYPES, Component, Mark
from maintenance.core.calculators import alarms, cylinders
from maintenance.core.dates import month_end
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library

from .models import PlanItem, RulesFrom


def procedures_for(kind: str, type_: str) -> list[Procedure]:
    """The library's items for a kind of part; those that are usual come first."""
    every = load_library().procedures.values()
    found = [one for one in every if one.component and one.component.fits(kind, type_)]
    return sorted(found, key=is_usual, reverse=True)


def procedures_of_kind(kind: str) -> list[Procedure]:
    """Those for any type of the kind, each once, type by type."""
    found = [
        one for type_ in TYPES.get(kind, ("",)) for one in procedures_for(kind, type_)
    ]
    return list({one.key: one for one in found}.values())


def is_usual(one: Procedure) -> bool:
    """Whether it is ticked from the start where such a part is entered."""
    return one.component is not None and one.component.usual


# --- what the part's own dates say ----------------------------------------------------


@dataclass(frozen=True, slots=True)
class Life:
    """From `start` (a day, or a month such as `2019-05`), for `years`; None: as long as
    the item's rules say."""

    start: str
    years: int | None = None


def life_of(component: Component, dates: str) -> Life | None:
    """The life that an item counts by these dates (`OfComponent`); None where the date
    is not known."""
    made = component.made
    if dates == "tested" and (component.tested or made):
        return Life(component.tested or made)
    if not made:
        return None
    if dates == "collar":
        new = component.mark == Mark.NEW
        years = cylinders.YEARS[component.mark]  # type: ignore[index]
        return Life(made if new else component.tested, years)
    if dates == "alarm":
        kind = component.type if component.type in ALARM_TYPES else "co"
        years = alarms.life_years(kind, component.label_years)  # type: ignore[arg-type]
        return Life(made, years)
    return Life(made, component.label_years)


def apply_part(item: PlanItem, component: Component) -> None:
    """Put the part's dates into the item's rules. How long it may live stays what the
    owner or the maker's book says, where they said it."""
    dates = _dates_of(item.key)
    life = life_of(component, dates)
    ours = item.rules_from == RulesFrom.LIBRARY
    if life is not None:
        item.triggers = [_with_life(rule, life, ours) for rule in item.triggers]
    if dates == "emptied":
        _empty_since(item, component)


def _dates_of(key: str) -> str:
    """A household's own procedure counts from when the part was made."""
    procedure = load_library().procedures.get(key)
    of = procedure.component if procedure else None
    return of.dates if of else "made"


def _with_life(rule: Mapping[str, Any], life: Life, ours: bool) -> dict[str, Any]:
    if "life" not in rule:
        return dict(rule)
    inner = {**rule["life"], "from": life.start}
    if ours and life.years is not None:
        inner = {"months": 12 * life.years, "from": life.start}
    return {**rule, "life": inner}


def _empty_since(item: PlanItem, component: Component) -> None:
    """The six years begin at manufacture, at a recharge or at a pressure test."""
    days = [component.made, component.tested, component.recharged]
    since = max((last_day(text) for text in days if text), default=None)
    if since is not None:
        item.baseline, item.baseline_on = "stated", since


def last_day(text: str) -> date:
    """The day, or the last day of a month such as `2019-05`."""
    if len(text) == 7:
        return month_end(date.fromisoformat(f"{text}-01"))
    return date.fromisoformat(text)
