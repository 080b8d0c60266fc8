"""Parts of a rig with their time in service and the time left, as 14 CFR 91.417(a)(2)
asks of the life-limited parts of aircraft."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.components.models import Component, ComponentKind, Fitting
from maintenance.components.queries import (
    PartsOfRig,
    Past,
    Use,
    pasts_of,
    uses_of,
)
from maintenance.core.calculators.tires import TireError, months_old, read_tin
from maintenance.core.components import DISTANCE
from maintenance.core.timeline import RigTimeline
from maintenance.core.words import counted
from maintenance.ui.templatetags.ui import day, measure
from maintenance.ui.words import day_span_words, day_words, month_words
from maintenance.vehicles.models import MeterKind

from .component_rules import last_day
from .models import Standing


@dataclass(frozen=True, slots=True)
class Left:
    """One limit of a part: what is to be done, by when, and what is left."""

    item: int
    what: str
    standing: str
    left: str  # empty without a day


@dataclass(frozen=True, slots=True)
class LifeRow:
    component: Component
    title: str
    made: str
    age: str
    since: str
    used: str
    limits: list[Left]


def life_list(
    parts: PartsOfRig,
    as_of: date,
    known: Mapping[int, RigTimeline] | None = None,
) -> list[LifeRow]:
    """Every part on the rig; the number of queries does not grow with them. `known` as
    in `pasts_of`."""
    on_rig = {one.pk for one in parts.on_rig}
    fittings = {pk: rows for pk, rows in parts.fittings.items() if pk in on_rig}
    pasts = pasts_of(fittings, as_of, known)
    limits = _limits(parts.on_rig, as_of)
    return [life_row(x, pasts.get(x.pk), limits[x.pk], as_of) for x in parts.on_rig]


def life_row(
    component: Component, past: Past | None, limits: list[Left], as_of: date
) -> LifeRow:
    fittings = past.fittings if past else []
    uses = uses_of(component, past, as_of) if past else []
    return LifeRow(
        component=component,
        title=str(component),
        made=made_words(component),
        age=age_words(component, as_of),
        since=_since(fittings, as_of),
        used=" · ".join(filter(None, (use_words(one, component) for one in uses))),
        limits=limits,
    )


def limits_of(component: Component, as_of: date) -> list[Left]:
    return _limits([component], as_of)[component.pk]


def _limits(
    components: Iterable[Component], as_of: date
) -> defaultdict[int, list[Left]]:
    found: defaultdict[int, list[Left]] = defaultdict(list)
    rows = Standing.objects.filter(
        item__component__in=list(components), item__dropped_on=None
    ).select_related("item")
    for row in rows.order_by("item__pk"):
        found[row.item.component_id or 0].append(_left(row, as_of))
    return found


def _left(row: Standing, as_of: date) -> Left:
    closes = row.closes_on
    return Left(
        item=row.item_id,
        what=row.item.title.partition(": ")[0],
        standing=row.standing,
        left=left_words(as_of, closes) if closes else "",
    )


# --- in words -------------------------------------------------------------------------


def span_words(start: date, end: date) -> str:
    """“6 years 3 months”; less than a month is said so."""
    months = months_old(start, end)
    if not months:
        return "less than a month"
    years, rest = divmod(months, 12)
    said = []
    if years:
        said.append(counted(years, "year"))
    if rest:
        said.append(counted(rest, "month"))
    return " ".join(said)


def left_words(as_of: date, closes: date) -> str:
    if closes < as_of:
        return f"{span_words(closes, as_of)} over, was due by {day(closes)}"
    return f"{span_words(as_of, closes)} left, by {day(closes)}"


def made_words(component: Component) -> str:
    if component.kind == ComponentKind.TIRE and component.serial:
        return tire_made_words(component.serial)
    if not component.made:
        return ""
    return day_or_month_words(component.made)


def day_or_month_words(text: str) -> str:
    """`2019-05` or `2019-05-12` as people write it."""
    last = last_day(text)
    return month_words(last, short=True) if len(text) == 7 else day_words(last)


def tire_made_words(serial: str) -> str:
    """What the date code says, with what is doubtful about it."""
    try:
        code = read_tin(serial).date
    except TireError:
        return ""
    if code.verdict == "ambiguous":
        years = ", ".join(str(week.year) for week in code.weeks)
        return f"before July 2000 (week {code.digits[:2]} of one of {years})"
    if code.verdict == "warn":
        return (
            f"at the end of 20{code.digits[2:]} (it has no week {code.digits[:2]} by "
            "the US rule; a manufacturer abroad may count differently)"
        )
    week = code.weeks[0]
    return f"week {week.week} of {week.year}, {day_span_words(week.start, week.end)}"


def age_words(component: Component, as_of: date) -> str:
    if not component.made:
        return ""
    start = last_day(component.made)
    if start > as_of:
        return ""
    words = span_words(start, as_of)
    at_least = component.kind == ComponentKind.TIRE and _is_old(component.serial)
    return f"at least {words}" if at_least else words


def _is_old(serial: str) -> bool:
    try:
        return bool(serial) and read_tin(serial).date.at_least
    except TireError:
        return False


def _since(fittings: list[Fitting], as_of: date) -> str:
    if not fittings:
        return ""
    first = fittings[0].start
    return f"{day(first)}, {span_words(first, as_of)} ago"


def use_words(use: Use, component: Component) -> str:
    """Nothing is said of a use that is not known, but where parts wear by it."""
    wears = component.kind in {ComponentKind.TIRE, ComponentKind.OTHER}
    if use.value is None:
        return "distance unknown" if use.what == DISTANCE and wears else ""
    value = measure(use.value, use.unit)
    if use.what == DISTANCE:
        return value
    return f"{value} ({str(MeterKind(use.what).label).lower()})"
