"""Which items of the library go with a component, and what life its own dates give."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintenance.components.models import (
    ALARM_TYPES,
    BATTERY_TYPES,
    CYLINDER_TYPES,
    Component,
    ComponentKind,
    Mark,
)
from maintenance.core.bench import alarms, cylinders, extinguishers
from maintenance.core.dates import month_end

from .models import PlanItem, RulesFrom

TYPES: dict[str, Mapping[str, Any]] = {
    ComponentKind.BATTERY: BATTERY_TYPES,
    ComponentKind.ALARM: ALARM_TYPES,
    ComponentKind.CYLINDER: CYLINDER_TYPES,
    ComponentKind.EXTINGUISHER: {
        key: rules.words for key, rules in extinguishers.KINDS.items()
    },
}

# Kind, and type where it matters -> keys of the library. The first ones stand for the
# part's own life.
KEYS: dict[tuple[str, str], tuple[str, ...]] = {
    ("tire", ""): ("tire_replace", "tire_age_review"),
    ("battery", "house"): ("house_battery_renew", "battery_rest_volts"),
    ("battery", "chassis"): ("chassis_battery_renew",),
    ("battery", "breakaway"): ("breakaway_battery_renew",),
    ("cylinder", "dot"): ("cylinder_requalification", "cylinder_look"),
    ("cylinder", "asme"): ("propane_tank_look",),
    ("alarm", "smoke"): ("smoke_alarm_renew", "smoke_alarm_test"),
    ("alarm", "co"): ("co_alarm_renew", "co_alarm_test"),
    ("alarm", "propane"): ("propane_alarm_renew", "propane_alarm_test"),
    ("alarm", "co_propane"): (
        "co_alarm_renew",
        "co_alarm_test",
        "propane_alarm_test",
    ),
    ("alarm", "co_smoke"): ("co_alarm_renew", "co_alarm_test", "smoke_alarm_test"),
    ("hose", ""): ("propane_hose_renew",),
    ("regulator", ""): ("regulator_renew",),
    ("water_heater", ""): (
        "water_heater_anode",
        "water_heater_flush",
        "water_heater_relief_valve",
    ),
}


def keys_for(kind: str, type_: str) -> tuple[str, ...]:
    """The library's items for a kind of part."""
    if kind == ComponentKind.EXTINGUISHER:
        return _extinguisher_keys(type_)
    return KEYS.get((kind, type_)) or KEYS.get((kind, ""), ())


def _extinguisher_keys(type_: str) -> tuple[str, ...]:
    rules = extinguishers.KINDS.get(type_)
    if rules is None:
        return ("extinguisher_replace", "extinguisher_look")
    if rules.test_years is None:
        return ("extinguisher_replace", "extinguisher_look")
    test = "extinguisher_test_12" if rules.test_years == 12 else "extinguisher_test_5"
    six = ("extinguisher_six_year",) if rules.six_year else ()
    return (test, *six, "extinguisher_yearly", "extinguisher_look")


# --- what the part's own dates say ----------------------------------------------------


@dataclass(frozen=True, slots=True)
class Life:
    """From `start` (a day, or a month such as `2019-05`), for `years`; None: as long as
    the item's rules say."""

    start: str
    years: int | None = None


def life_of(component: Component, key: str) -> Life | None:
    """The life that an item of this key counts; None where the date is not known."""
    made = component.made
    if key == "cylinder_requalification" and made:
        new = component.mark == Mark.NEW
        years = cylinders.YEARS[component.mark]  # type: ignore[index]
        return Life(made if new else component.tested, years)
    if key.startswith("extinguisher_test_") and (component.tested or made):
        return Life(component.tested or made)
    if key in {"smoke_alarm_renew", "co_alarm_renew", "propane_alarm_renew"} and made:
        kind = component.type if component.type in ALARM_TYPES else "co"
        years = alarms.life_years(kind, component.label_years)  # type: ignore[arg-type]
        return Life(made, years)
    return Life(made, component.label_years) if made else None


def apply_part(item: PlanItem, component: Component) -> None:
    """Put the part's dates into the item's rules. How long it may live stays what the
    owner or the maker's book says, where they said it."""
    life = life_of(component, item.key)
    ours = item.rules_from == RulesFrom.LIBRARY
    if life is not None:
        item.triggers = [_with_life(rule, life, ours) for rule in item.triggers]
    if item.key == "extinguisher_six_year":
        _empty_since(item, component)


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
