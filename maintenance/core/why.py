"""The facts behind a standing, as keys with values; the shell words them.

Values are as the user knows them: what meters show, in their unit, and days. Order:
what the cycle counts from, the rule, the window, what is known today, what follows.
"""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from maintenance.core.facts import Dates, Fact, FactValue, Values
from maintenance.core.timeline import RigTimeline


def happened(
    key: str,
    day: RigTimeline,
    *,
    on: date,
    values: Values,
    meter: str | None,
    until: date | None = None,
    places: frozenset[str] | None = None,
    kind: str = "",
) -> tuple[Fact, ...]:
    """Work, baseline or event: its day, and the figure when a meter counts from it."""
    facts: dict[str, FactValue] = {
        "on": on,
        "until": until,
        "kind": kind,
        "places": tuple(sorted(places)) if places is not None else None,
    }
    if meter is None:
        return (Fact(key, facts),)
    true, estimated = day.value_at(meter, on, values)
    if true is None:
        return (Fact(key, facts),)
    unit, now = day.tracks[meter].unit, day.tracks[meter].scale.shown(true)
    figure = now if estimated else values.get(meter, now)
    facts |= {
        "value": figure,
        "unit": unit,
        "estimated": "yes" if estimated else "",
    }
    if figure == now:
        return (Fact(key, facts),)
    present = Fact("on_present_meter", {"value": now, "unit": unit})
    return Fact(key, facts), present


def window_of_days(opens: date, closes: date, key: str = "window_days") -> Fact:
    return Fact(key, {"opens": opens, "closes": closes})


def window_of_values(
    day: RigTimeline,
    meter: str,
    opens: Decimal,
    closes: Decimal,
    key: str = "window_values",
) -> Fact:
    scale, unit = day.tracks[meter].scale, day.tracks[meter].unit
    return Fact(
        key,
        {
            "meter": meter,
            "unit": unit,
            "opens": scale.shown(opens),
            "closes": scale.shown(closes),
        },
    )


TOLD_BY = {"trips": "towed_so_far", "runs": "run_so_far"}


def last_reading(day: RigTimeline, meter: str) -> Fact:
    state = day.tracks[meter].state()
    if state.known is None:
        return Fact("no_reading", {"meter": meter})
    if state.told_by:
        known = {"value": state.known, "unit": state.unit, "on": state.known_on}
        return Fact(TOLD_BY[state.told_by], known)
    return Fact(
        "last_reading",
        {
            "meter": meter,
            "value": state.known,
            "unit": state.unit,
            "on": state.known_on,
            "doubtful": len(state.doubtful),
        },
    )


def by_value(
    day: RigTimeline, meter: str, opens: Decimal, closes: Decimal
) -> Fact | None:
    """How far the known value is past closes or short of opens."""
    track = day.tracks[meter]
    if track.known is None:
        return None
    if track.known > closes:
        return Fact(
            "over_by_value", {"value": track.known - closes, "unit": track.unit}
        )
    if track.known >= opens:
        left = closes - track.known
        return Fact("left_value", {"value": left, "unit": track.unit})
    return Fact("opens_in_value", {"value": opens - track.known, "unit": track.unit})


def plan_passed(day: RigTimeline) -> tuple[Fact, ...]:
    """The question to the user when the open stay's planned end has passed."""
    if day.void_plan is None:
        return ()
    return (Fact("planned_end_passed", {"on": day.void_plan}),)


def by_days(as_of: date, opens: date, closes: date) -> Fact:
    """How many days ago closes was, or are left."""
    if as_of > closes:
        return Fact("over_by_days", {"days": (as_of - closes).days})
    if as_of >= opens:
        return Fact("left_days", {"days": (closes - as_of).days})
    return Fact("opens_in_days", {"days": (opens - as_of).days})


def reached(opens: Dates, closes: Dates, of_use: Iterable[Fact]) -> tuple[Fact, ...]:
    """When opens and closes are reached by the rig's use, and what that rests on."""
    ahead = opens.likely is not None and opens.early != opens.late
    if closes.likely is None and not ahead:
        facts = tuple(of_use)
        no_use = tuple(fact for fact in facts if fact.key == "forecast_no_use")
        return no_use or facts  # no day is told, so nothing that one would rest on
    fact = Fact(
        "forecast",
        {
            "opens": opens.likely,
            "early": closes.early,
            "likely": closes.likely,
            "late": closes.late,
        },
    )
    return (fact, *of_use)
