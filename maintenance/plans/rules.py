"""Triggers in words, as a person would say the rule."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from maintenance.core import facts
from maintenance.core.triggers import parse_triggers
from maintenance.core.units import show

from .event_words import event_words
from .models import PlanItem


def rules_in_words(item: PlanItem) -> list[str]:
    """Its rules; an item without any is done when it is needed."""
    return words_of_rules(item.triggers, item.key) or [_("When it is needed")]


def words_of_rules(rules: Iterable[Mapping[str, Any]], key: str) -> list[str]:
    """Rules as an item or a procedure has them."""
    return [rule_in_words(rule) for rule in parse_triggers([*map(dict, rules)], key)]


def rule_in_words(trigger: facts.Trigger) -> str:
    return WORDS[type(trigger)](trigger)


def _every_meter(rule: facts.EveryMeter) -> str:
    text = _("Every %(interval)s") % {"interval": show(rule.interval, rule.unit)}
    if rule.first is not None:
        text += _(", the first time after %(n)s") % {"n": show(rule.first, rule.unit)}
    if rule.severe is not None:
        text += _(", under severe duty every %(n)s") % {
            "n": show(rule.severe, rule.unit)
        }
    return text


def span_in_words(span: facts.Span) -> str:
    if span.months and span.months % 12 == 0:
        years = span.months // 12
        return ngettext("%(n)d year", "%(n)d years", years) % {"n": years}
    if span.months:
        return ngettext("%(n)d month", "%(n)d months", span.months) % {"n": span.months}
    return ngettext("%(n)d day", "%(n)d days", span.days) % {"n": span.days}


def _every_span(span: facts.Span) -> str:
    if span.months == 12:
        return _("Every year")
    if span.months == 1:
        return _("Every month")
    return _("Every %(span)s") % {"span": span_in_words(span)}


def _every_time(rule: facts.EveryTime) -> str:
    text = _every_span(rule.interval)
    if rule.in_use:
        text += _(" of use (days in storage do not count)")
    if rule.first is not None:
        text += _(", the first time after %(n)s") % {"n": span_in_words(rule.first)}
    if rule.severe is not None:
        text += _(", under severe duty every %(n)s") % {"n": span_in_words(rule.severe)}
    return text


def severe_in_words(trigger: facts.Trigger) -> str:
    """“every 3,000 mi instead of 5,000 mi”; empty without a shorter interval."""
    if isinstance(trigger, facts.EveryMeter) and trigger.severe is not None:
        shorter = show(trigger.severe, trigger.unit)
        usual = show(trigger.interval, trigger.unit)
    elif isinstance(trigger, facts.EveryTime) and trigger.severe is not None:
        shorter = span_in_words(trigger.severe)
        usual = span_in_words(trigger.interval)
    else:
        return ""
    return _("every %(shorter)s instead of %(usual)s") % {
        "shorter": shorter,
        "usual": usual,
    }


def _season(rule: facts.Season) -> str:
    return _("Each spring") if rule.name == "spring" else _("Each autumn")


def _storage_entry(rule: facts.StorageEntry) -> str:
    if rule.by_day:
        return _("When stored longer than %(n)d days") % {"n": rule.by_day}
    return _("Before storage")


def _while_stored(rule: facts.WhileStored) -> str:
    text = _("Every %(n)d days in storage") % {"n": rule.days}
    return text + (_(", unless winterized") if rule.unless_winterized else "")


def _storage_exit(_rule: facts.StorageExit) -> str:
    return _("When it leaves storage")


def _after(rule: facts.After) -> str:
    checks = " · ".join(_check(low, high, rule.unit) for low, high in rule.checks)
    return _("%(checks)s after: %(event)s") % {
        "checks": checks,
        "event": event_words(rule.event),
    }


def _check(low: Decimal, high: Decimal, unit: str | None) -> str:
    if unit is None:
        return _("%(low)s to %(high)s days") % {"low": low, "high": high}
    return f"{low.normalize():f}\N{EN DASH}{show(high, unit)}"


def _before_trip(rule: facts.BeforeTrip) -> str:
    return _("Before each trip")


def _life(rule: facts.Life) -> str:
    return _("Good for %(span)s from its date, whatever its use") % {
        "span": span_in_words(rule.length)
    }


WORDS: Mapping[type, Callable[[Any], str]] = {
    facts.EveryMeter: _every_meter,
    facts.EveryTime: _every_time,
    facts.Season: _season,
    facts.StorageEntry: _storage_entry,
    facts.WhileStored: _while_stored,
    facts.StorageExit: _storage_exit,
    facts.After: _after,
    facts.BeforeTrip: _before_trip,
    facts.Life: _life,
}
