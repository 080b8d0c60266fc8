"""Why now, as a road: from what caused the work to the end of its window."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from maintenance.core.facts import MeterPoint
from maintenance.core.units import show_number
from maintenance.plans.fact_data import facts_from_data
from maintenance.plans.models import Standing
from maintenance.ui.words import day_words

Value = Decimal | date
BEFORE = 3  # windows of a meter: the road begins this part of one before it opens
DAYS_BEFORE = timedelta(days=30)
CAUSES = {"event": "when it happened", "done": "last done"}


@dataclass(frozen=True, slots=True)
class Road:
    """`labels`: where, figure, word; `now_words` stand over the rig."""

    start: Value
    opens: Value
    closes: Value
    now: Value
    labels: tuple[tuple[Value, str, str], ...]
    now_words: str


def road_of(standing: Standing, today: date) -> Road | None:
    """None where the work waits, or nothing is known to draw."""
    window = standing.window
    if window is None:
        return None
    opens, closes = window.opens, window.closes
    if isinstance(opens, MeterPoint) and isinstance(closes, MeterPoint):
        return _on_meter(standing, opens.value, closes.value)
    if isinstance(opens, date) and isinstance(closes, date):
        return _on_days(standing, opens, closes, today)
    return None


def _on_meter(standing: Standing, opens: Decimal, closes: Decimal) -> Road | None:
    facts = facts_from_data(standing.why)
    read = [one.values for one in facts if one.key == "last_reading"]
    if not read or read[-1].get("unit") != standing.unit:
        return None
    now = Decimal(str(read[-1]["value"]))
    cause: list[tuple[Any, str]] = [
        (one.values["value"], CAUSES[one.key])
        for one in facts
        if one.key in CAUSES
        and isinstance(one.values.get("value"), Decimal)
        and one.values.get("unit", standing.unit) == standing.unit
    ]
    start: Any
    start, word = cause[-1] if cause else (opens - (closes - opens) / BEFORE, "")
    start = min(start, opens, now)
    return _road(start, word, (opens, closes), now, show_number)


def _on_days(standing: Standing, opens: date, closes: date, today: date) -> Road:
    facts = facts_from_data(standing.why)
    cause: list[tuple[Any, str]] = [
        (one.values["on"], CAUSES[one.key])
        for one in facts
        if one.key in CAUSES and isinstance(one.values.get("on"), date)
    ]
    start: Any
    start, word = cause[-1] if cause else (opens - DAYS_BEFORE, "")
    start = min(start, opens, today)
    return _road(start, word, (opens, closes), today, day_words)


def _road(start: Any, word: str, window: Any, now: Any, words: Any) -> Road:
    """Where posts stand close together there is no room for the words of both: the end
    of the window wins."""
    opens, closes = window
    last = max(closes, now)
    labels = [(closes, words(closes), "closes")]
    whole = last - start
    if opens != closes and whole and (closes - opens) * 4 >= whole:
        labels.insert(0, (opens, words(opens), "opens"))
    if word and whole and (labels[0][0] - start) * 4 >= whole:
        labels.insert(0, (start, words(start), word))
    return Road(start, opens, closes, now, tuple(labels), f"now {words(now)}")
