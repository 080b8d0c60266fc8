"""A standing as one line of a list: words made once, for pages, mail and print."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.facts import Point
from maintenance.core.units import convert, show
from maintenance.ui.words import day_span_words, day_words, month_name, month_words

from .fact_data import counted_on, facts_from_data
from .models import PlanItem, Standing
from .wording.facts import word
from .wording.fitness import fitness_words

DISTANCES = {"mi", "km"}
# Who does a job, as lists say it.


@dataclass(frozen=True, slots=True)
class Row:
    """`when` says by when, `about` when that will likely be, `why` on what it rests;
    `fitness` by what it makes the rig unfit to travel, or not legal to drive."""

    item: PlanItem
    standing: str
    rank: int  # the order on Due
    title: str
    rig: str
    unfit: bool
    not_legal: bool
    fitness: str
    safety: bool
    expected: bool
    when: str
    about: str
    check_ahead: bool
    deferred: str
    why: tuple[str, ...]


def row_of(standing: Standing, today: date, *, reads_in: str = "") -> Row:
    """`reads_in`: the distance unit (mi, km) that the reader thinks in; a window on a
    meter in the other says it in both, for the meter shows only its own."""
    item = standing.item
    when = _when(standing, reads_in)
    return Row(
        item=item,
        standing=standing.standing,
        rank=standing.rank,
        title=item.title,
        rig=item.rig.name,
        unfit=standing.unfit,
        not_legal=standing.not_legal,
        fitness=fitness_words(standing, when),
        safety=item.safety,
        expected=standing.expected,
        when=when,
        about=_about(standing, today),
        check_ahead=standing.is_check_ahead,
        deferred=_deferred(standing),
        why=_why(standing, today),
    )


def _why(standing: Standing, today: date) -> tuple[str, ...]:
    """Each sentence once: two rules may lack the same."""
    facts = counted_on(standing.why, standing.as_of, today)
    said = dict.fromkeys(map(word, facts_from_data(facts)))
    return tuple(said) or ("Do it when needed.",)


def point_in_words(point: Point, unit: str, reads_in: str = "") -> str:
    """An end of a window: a day, or a meter's value."""
    if isinstance(point, date):
        return day_words(point)
    shown = show(point.value, unit)
    if not reads_in or unit not in DISTANCES or reads_in == unit:
        return shown
    other = convert(point.value, unit, reads_in)
    return f"{shown} ({show(other, reads_in, places=0)})"


def _when(standing: Standing, reads_in: str) -> str:
    window, unit, name = standing.window, standing.unit, standing.standing
    if window is None or name == "settled":
        return ""
    closes = point_in_words(window.closes, unit, reads_in)
    if name == "overdue":
        return f"was due by {closes}"
    if name == "due":
        return f"by {closes}"
    if isinstance(window.opens, date) and isinstance(window.closes, date):
        return day_span_words(window.opens, window.closes)
    return f"{point_in_words(window.opens, unit, reads_in)} to {closes}"


def _about(standing: Standing, today: date) -> str:
    """When a window on a meter will likely be reached; nothing for dates."""
    dates = standing.forecast
    if dates is None or standing.standing == "overdue":
        return ""
    is_due = standing.standing == "due"
    likely = (dates.closes if is_due else dates.opens).likely
    if likely is None:
        return "" if is_due or _unused(standing) else "not for years"
    return f"likely {around(likely, today)}"


def _unused(standing: Standing) -> bool:
    """True where no day can be told because the readings show no use."""
    return any(key == "forecast_no_use" for key, *_values in standing.why)


PARTS = (
    (10, "early %(month)s"),
    (20, "mid-%(month)s"),
    (31, "late %(month)s"),
)


def around(day: date, today: date) -> str:
    """A day that is only likely: “mid-May”, with the year unless it is this one."""
    if (day - today).days <= 7:
        return "in the next few days"
    month = month_name(day) if day.year == today.year else month_words(day)
    words = next(str(words) for last, words in PARTS if day.day <= last)
    return f"around {words % {'month': month}}"


def _deferred(standing: Standing) -> str:
    """Put off by a meter, in the unit of that meter, whatever the window hangs on."""
    if standing.deferred_why is None:
        return ""
    until = (
        day_words(standing.deferred_until)
        if standing.deferred_until
        else show(
            standing.deferred_until_value or Decimal(0), standing.deferred_unit or ""
        )
    )
    by = f" by {standing.deferred_by}" if standing.deferred_by else ""
    return f"until {until}{by}: {standing.deferred_why}"
