"""Bars as SVG: as wide as their place, geometry as percents in attributes, colors by
class. Each has its words beside it, so a reader is not told of it."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import template

from maintenance.ui import bars
from maintenance.ui.charts import BandChart
from maintenance.ui.drawings import DRAWINGS, PINS
from maintenance.ui.local import first_weekday

register = template.Library()

THIN, WINDOW, ROAD = 14, 30, 24  # heights in pixels


def _drawing(bar: bars.Bar, height: int, kind: str = "", **more: Any) -> dict[str, Any]:
    top = 32 if more.get("now") else 0
    return {
        "bar": bar,
        "top": top,
        "height": height,
        "below": top + height,
        "tall": top + height + (46 if bar.labels else 0),
        "sign": DRAWINGS.get(kind, ""),
        **more,
    }


@register.inclusion_tag("ui/_bar_drawn.html")
def window_bar(  # noqa: PLR0917  what it is drawn from
    opens: bars.Value,
    closes: bars.Value,
    today: bars.Value,
    start: bars.Value,
    end: bars.Value,
    by_shop: bool = False,
) -> dict[str, Any]:
    """A job's window on an axis of days or miles, with today."""
    bar = bars.window(bars.Axis(start, end), opens, closes, today, by_shop=by_shop)
    return _drawing(bar, WINDOW)


@register.inclusion_tag("ui/_bar_drawn.html")
def road_bar(  # noqa: PLR0917  what it is drawn from
    start: bars.Value,
    opens: bars.Value,
    closes: bars.Value,
    now: bars.Value,
    kind: str = "",
    labels: tuple[tuple[bars.Value, str, str], ...] = (),
    now_words: str = "",
) -> dict[str, Any]:
    """Why now: the road from the cause to the window, with the rig where it is.
    `labels` are (where, figure, word); `now_words` stand over the rig."""
    bar = bars.road(start, opens, closes, now, tuple(labels))
    return _drawing(bar, ROAD, kind, is_road=True, now=now_words)


@register.inclusion_tag("ui/_bar_drawn.html")
def life_bar(
    made: date, today: date, limit: date, start: date, end: date
) -> dict[str, Any]:
    """A part's age on an axis that it shares with its neighbors."""
    return _drawing(bars.life(bars.Axis(start, end), made, today, limit), THIN)


@register.inclusion_tag("ui/_bar_drawn.html")
def runway_bar(  # noqa: PLR0917  what it is drawn from
    begun: date, sure: date, maybe: date, today: date, start: date, end: date
) -> dict[str, Any]:
    """How long something lasts, on the axis of its stay."""
    axis = bars.Axis(start, end)
    return _drawing(bars.runway(axis, begun, sure, maybe, today), THIN)


@register.inclusion_tag("ui/_bar_drawn.html")
def share_bar(value: bars.Value, most: bars.Value) -> dict[str, Any]:
    """An amount beside others of its kind, such as what a year cost."""
    return _drawing(bars.share(value, most), THIN)


@register.inclusion_tag("ui/_bar_drawn.html")
def progress_road(done: int, of: int, kind: str = "") -> dict[str, Any]:
    """The rig drives along it as jobs are done; the words stand before it."""
    return _drawing(bars.progress(done, of), ROAD, kind, is_road=True)


@register.inclusion_tag("ui/_band_drawn.html")
def band_drawn(chart: BandChart) -> dict[str, Any]:
    """What a meter showed, and the band in which it will likely be; its numbers stand
    beside it."""
    drawn = bars.band(chart.known, chart.expected, chart.today)
    days = [on for on, _value in chart.known] + [row[0] for row in chart.expected]
    return {
        "band": drawn,
        "first": min(days, default=chart.today),
        "last": max(days, default=chart.today),
        "about": chart.expected[-1][2] if chart.expected else None,
        "unit": chart.unit,
    }


# --- a rig with its places ------------------------------------------------------------


@register.inclusion_tag("ui/_rig_places.html")
def rig_places(kind: str, places: Iterable[Any], name: str) -> dict[str, Any]:
    """The side view with a numbered pin for each place, an object with `key`, `number`,
    `worst` (a mark) and `is_red`."""
    pins = PINS[DRAWINGS[kind]]
    return {
        "kind": kind,
        "name": name,
        "pins": [(place, pins[place.key]) for place in places if place.key in pins],
    }


@register.inclusion_tag("ui/_line_drawn.html")
def line_bar(line: bars.Line) -> dict[str, Any]:
    """A whole stay on one line (`bars.line`), with its months above it."""
    return {"line": line}


# --- the next 60 days -----------------------------------------------------------------


@register.inclusion_tag("ui/_lane_drawn.html")
def lane_bar(shown: Any, today: date) -> dict[str, Any]:
    """The road of a rig: an object with `lane`, `stays`, `rig` and `is_stored`."""
    return {
        "drawn": bars.lane(shown.lane, shown.stays, today),
        "sign": DRAWINGS[shown.rig.kind],
        "stored": shown.is_stored,
    }


@register.inclusion_tag("ui/_lane_scale.html")
def lane_scale(today: date) -> dict[str, Any]:
    """The weeks above the lanes, and today."""
    weeks = bars.lane_weeks(today, first_weekday())
    months = [week for n, week in enumerate(weeks) if _is_new_month(weeks, n)]
    return {"weeks": weeks, "months": months, "today": bars.lane_axis(today).at(today)}


def _is_new_month(weeks: tuple[tuple[float, date], ...], n: int) -> bool:
    return n == 0 or weeks[n][1].month != weeks[n - 1][1].month
