"""A reckoning as plain data, in the form of design section 4.4."""

from collections.abc import Callable
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from maintenance.core.facts import (
    Dates,
    Fact,
    MeterState,
    Pending,
    Point,
    Reckoning,
    Standing,
    Window,
)

Data = dict[str, object]
TENTH = Decimal("0.1")


def reckoning_to_data(reckoning: Reckoning, word: Callable[[Fact], str]) -> Data:
    """The output of `manage.py reckon`; `word` makes a sentence of a fact."""
    return {
        "as_of": reckoning.as_of.isoformat(),
        "meters": {name: _meter(one) for name, one in reckoning.meters.items()},
        "items": [
            standing_to_data(one) | {"why": [word(fact) for fact in one.why]}
            for one in reckoning.items
        ],
    }


def standing_to_data(standing: Standing) -> Data:
    """One item of the output, without its sentences."""
    return {
        "key": standing.key,
        "standing": standing.standing,
        "governing": standing.governing,
        "expected": standing.expected,
        "window": None if standing.window is None else _window(standing.window),
        "pending": [_pending(one) for one in standing.pending],
        "forecast": None
        if standing.forecast is None
        else {
            "opens": _dates(standing.forecast.opens),
            "closes": _dates(standing.forecast.closes),
        },
    }


def rounded(value: Decimal) -> int | float:
    """A meter value to 0.1, whole ones without a point."""
    tenth = value.quantize(TENTH, ROUND_HALF_UP)
    return int(tenth) if tenth == tenth.to_integral_value() else float(tenth)


def _meter(state: MeterState) -> Data:
    return {
        "known": None if state.known is None else rounded(state.known),
        "unit": state.unit,
        "doubtful": [
            [reading.on.isoformat(), rounded(reading.value)]
            for reading in state.doubtful
        ],
    }


def _window(window: Window) -> Data:
    return {"opens": _point(window.opens), "closes": _point(window.closes)}


def _point(point: Point) -> object:
    if isinstance(point, date):
        return point.isoformat()
    return {"meter": point.meter, "value": rounded(point.value)}


def _pending(pending: Pending) -> Data:
    places = pending.places
    return {
        "kind": pending.kind,
        **_window(pending.window),
        "places": None if places is None else sorted(places),
    }


def _dates(dates: Dates) -> Data:
    return {
        "early": dates.early and dates.early.isoformat(),
        "likely": dates.likely and dates.likely.isoformat(),
        "late": dates.late and dates.late.isoformat(),
    }
