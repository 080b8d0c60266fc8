"""Values of facts as words: days, lengths of time, meters and what they show."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from maintenance.core.facts import Fact, FactValue, Span
from maintenance.core.output import rounded

Shown = Mapping[str, str]

MONTHS = (
    gettext_lazy("Jan"),
    gettext_lazy("Feb"),
    gettext_lazy("Mar"),
    gettext_lazy("Apr"),
    gettext_lazy("May"),
    gettext_lazy("Jun"),
    gettext_lazy("Jul"),
    gettext_lazy("Aug"),
    gettext_lazy("Sep"),
    gettext_lazy("Oct"),
    gettext_lazy("Nov"),
    gettext_lazy("Dec"),
)

METERS = {
    "odometer": gettext_lazy("the odometer"),
    "engine": gettext_lazy("engine hours"),
    "generator": gettext_lazy("generator hours"),
    "towed": gettext_lazy("towed distance"),
    "wheel_distance": "the odometer and towed distance together",
}


def value_in_words(value: FactValue, as_of: date | None) -> str:
    if isinstance(value, date):
        return day_in_words(value, as_of)
    if isinstance(value, Decimal):
        return f"{rounded(value):,}"
    if isinstance(value, tuple):
        return ", ".join(value)
    return "" if value is None else str(value)


def day_in_words(day: date, as_of: date | None = None) -> str:
    """1 May, or 1 May 2026 when that is not the year of `as_of`."""
    short = f"{day.day} {MONTHS[day.month - 1]}"
    return short if as_of and as_of.year == day.year else f"{short} {day.year}"


def meter_in_words(name: str) -> str:
    return str(METERS.get(name, name))


def days_in_words(count: int) -> str:
    return ngettext("%(n)d day", "%(n)d days", count) % {"n": count}


def months_in_words(count: int) -> str:
    if count % 12 == 0:
        years = count // 12
        return ngettext("%(n)d year", "%(n)d years", years) % {"n": years}
    return ngettext("%(n)d month", "%(n)d months", count) % {"n": count}


def span_in_words(span: Span) -> str:
    return months_in_words(span.months) if span.months else days_in_words(span.days)


def whole(fact: Fact, name: str) -> int:
    value = fact.values[name]
    return value if isinstance(value, int) else 0


def at_figure(fact: Fact, shown: Shown) -> str:
    """ " at 42,310 mi", with what is estimated named so."""
    if not shown.get("value"):
        return ""
    if fact.values.get("estimated"):
        return _(" at %(value)s %(unit)s (estimated from the readings)") % shown
    return _(" at %(value)s %(unit)s") % shown


def interval_sentence(fact: Fact, interval: str) -> str:
    cause = fact.values.get("cause")
    if cause == "first":
        return _("The first time after %(interval)s.") % {"interval": interval}
    if cause == "severe":
        text = _("Every %(interval)s, as the rig was on severe duty.")
        return text % {"interval": interval}
    return _("Every %(interval)s.") % {"interval": interval}
