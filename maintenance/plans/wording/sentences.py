"""Facts whose sentence depends on what is known, by key; those of a kind of trigger
stand with it in `plans/kinds/`."""

from collections.abc import Callable
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from maintenance.core.facts import Fact
from maintenance.plans.event_words import event_words
from maintenance.plans.wording.values import Shown, at_figure, days_in_words, whole


def _when(fact: Fact, shown: Shown) -> str:
    if fact.values.get("until"):
        return _("between %(on)s and %(until)s") % shown
    return _("on %(on)s") % shown


def _done(fact: Fact, shown: Shown) -> str:
    return _("Last done%(at)s %(when)s.") % {
        "at": at_figure(fact, shown),
        "when": _when(fact, shown),
    }


def _in_service(fact: Fact, shown: Shown) -> str:
    return _("Nothing on record; in service since %(on)s%(at)s.") % {
        **shown,
        "at": at_figure(fact, shown),
    }


def _renewed(fact: Fact, shown: Shown) -> str:
    event = event_words(shown["kind"])
    return f"{event} on {shown['on']}{at_figure(fact, shown)}: counted from there."


def _stated(fact: Fact, shown: Shown) -> str:
    return _("Counted from %(on)s%(at)s, as stated.") % {
        **shown,
        "at": at_figure(fact, shown),
    }


def _anchor_kept(fact: Fact, shown: Shown) -> str:
    point = shown.get("on") or _("%(value)s %(unit)s") % shown
    text = _("Counted on from %(point)s, when it was to be done.")
    return text % {"point": point}


def _last_reading(fact: Fact, shown: Shown) -> str:
    what = ""
    if fact.values.get("meter") != "odometer":
        what = _(" of %(of_meter)s") % shown
    on = _(" on %(on)s") % shown if fact.values.get("on") else ""
    text = _("Last reading%(what)s %(value)s %(unit)s%(on)s.") % {
        **shown,
        "what": what,
        "on": on,
    }
    doubtful = whole(fact, "doubtful")
    if not doubtful:
        return text
    left_out = ngettext(
        "%(n)d doubtful reading is left out.",
        "%(n)d doubtful readings are left out.",
        doubtful,
    )
    return f"{text} {left_out % {'n': doubtful}}"


def _left_value(fact: Fact, shown: Shown) -> str:
    if fact.values["value"] == 0:
        return _("Nothing is left: it closes at this very reading.")
    return _("%(value)s %(unit)s are left.") % shown


def _over_by_days(fact: Fact, _shown: Shown) -> str:
    return _("That was %(days)s ago.") % {"days": days_in_words(whole(fact, "days"))}


def _left_days(fact: Fact, _shown: Shown) -> str:
    days = whole(fact, "days")
    if days == 0:
        return _("Today is the last day.")
    return ngettext("%(n)d day is left.", "%(n)d days are left.", days) % {"n": days}


def _opens_in_days(fact: Fact, _shown: Shown) -> str:
    return _("It opens in %(days)s.") % {"days": days_in_words(whole(fact, "days"))}


def _stay(fact: Fact, shown: Shown) -> str:
    if fact.values.get("end"):
        return _("Stay from %(start)s to %(end)s.") % shown
    return _("Stay from %(start)s; its end is not known.") % shown


def _forecast(fact: Fact, shown: Shown) -> str:
    if not fact.values.get("likely"):
        return _("By its use it opens about %(opens)s.") % shown
    if not fact.values.get("late"):
        return _("By its use it closes about %(likely)s, or much later.") % shown
    return _("By its use it closes about %(likely)s (%(early)s to %(late)s).") % shown


def _forecast_rests_on(fact: Fact, shown: Shown) -> str:
    count = whole(fact, "readings")
    text = ngettext(
        "That rests on %(n)d reading over %(span)s.",
        "That rests on %(n)d readings over %(span)s.",
        count,
    )
    return text % {"n": count, "span": _years(fact, shown["years"])}


def _years(fact: Fact, shown: str) -> str:
    years = fact.values["years"]
    if not isinstance(years, Decimal | int) or years < 1:
        return _("less than a year")
    return ngettext("%(n)s year", "%(n)s years", 1 if years == 1 else 2) % {"n": shown}


def _forecast_few_readings(fact: Fact, _shown: Shown) -> str:
    count = whole(fact, "readings")
    text = ngettext(
        "One reading is little to go by: the days are a wide guess.",
        "%(n)d readings are little to go by: the days are a wide guess.",
        count,
    )
    return text % {"n": count}


# --- a doubtful reading --------------------------------------------------------------


def _doubtful_reading(fact: Fact, shown: Shown) -> str:
    before = _("%(before)s %(unit)s on %(before_on)s") % shown
    after = _("%(after)s %(unit)s on %(after_on)s") % shown
    text = _("%(value)s %(unit)s on %(on)s does not fit ") % shown
    if fact.values.get("before") is None:
        return text + _("%(after)s after it.") % {"after": after}
    if fact.values.get("after") is None:
        return text + _("%(before)s before it.") % {"before": before}
    both = {"before": before, "after": after}
    return text + _("between %(before)s and %(after)s.") % both


def _gained_since(fact: Fact, shown: Shown) -> str:
    said = f"{shown['gained']} {shown['unit']} since {shown['since_on']}"
    if fact.values.get("per_day") is None:
        return f"{said}."
    return f"{said}, {shown['per_day']} {shown['unit']} a day."


def _too_fast(_fact: Fact, shown: Shown) -> str:
    unit = shown["unit"]
    return (
        f"From {shown['other']} {unit} on {shown['other_on']} it would be"
        f" {shown['per_day']} {unit} a day; no more than {shown['most']} can be."
    )


def _outside_habit(fact: Fact, shown: Shown) -> str:
    unit = shown["unit"]
    days = days_in_words(max(whole(fact, "days"), 1))
    return (
        f"That would be {shown['per_day']} {unit} a day for {days}; the most it ever"
        f" did in as many days is {shown['usual_per_day']} {unit} a day."
    )


SPECIAL: dict[str, Callable[[Fact, Shown], str]] = {
    "done": _done,
    "in_service": _in_service,
    "renewed": _renewed,
    "stated": _stated,
    "anchor_kept": _anchor_kept,
    "last_reading": _last_reading,
    "left_value": _left_value,
    "over_by_days": _over_by_days,
    "left_days": _left_days,
    "opens_in_days": _opens_in_days,
    "stay": _stay,
    "forecast": _forecast,
    "forecast_rests_on": _forecast_rests_on,
    "forecast_few_readings": _forecast_few_readings,
    "doubtful_reading": _doubtful_reading,
    "below_earlier": (
        lambda _fact, shown: (
            f"It is less than {shown['other']} {shown['unit']} on"
            f" {shown['other_on']}, which was before."
        )
    ),
    "above_later": (
        lambda _fact, shown: (
            f"It is more than {shown['other']} {shown['unit']} on"
            f" {shown['other_on']}, which was later."
        )
    ),
    "too_fast": _too_fast,
    "outside_habit": _outside_habit,
    "gained_since": _gained_since,
}
