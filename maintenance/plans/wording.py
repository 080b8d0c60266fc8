"""Facts behind a standing, worded: plain sentences that a user can check by hand."""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from maintenance.core.facts import Fact, FactValue
from maintenance.core.output import rounded

from .event_words import event_words

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
}


def word(fact: Fact, as_of: date | None = None) -> str:
    """One fact as a sentence. Days of the year of `as_of` are given without it."""
    shown = {name: _value(value, as_of) for name, value in fact.values.items()}
    if fact.values.get("meter"):
        shown["of_meter"] = _meter(shown["meter"])
    special = SPECIAL.get(fact.key)
    if special is not None:
        return special(fact, shown)
    return str(PLAIN[fact.key]) % shown


def _value(value: FactValue, as_of: date | None) -> str:
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


def _meter(name: str) -> str:
    return str(METERS.get(name, name))


def _days(count: int) -> str:
    return ngettext("%(n)d day", "%(n)d days", count) % {"n": count}


def _months(count: int) -> str:
    if count % 12 == 0:
        years = count // 12
        return ngettext("%(n)d year", "%(n)d years", years) % {"n": years}
    return ngettext("%(n)d month", "%(n)d months", count) % {"n": count}


def _count(fact: Fact, name: str) -> int:
    value = fact.values[name]
    return value if isinstance(value, int) else 0


PLAIN = {
    # --- how things stand by the meter
    "on_present_meter": gettext_lazy(
        "On the meter fitted now that is %(value)s %(unit)s."
    ),
    "window_values": gettext_lazy(
        "Falls due between %(opens)s and %(closes)s %(unit)s."
    ),
    "over_by_value": gettext_lazy("That was passed by %(value)s %(unit)s."),
    "opens_in_value": gettext_lazy("It opens in %(value)s %(unit)s."),
    "no_reading": gettext_lazy("There is no reading of %(of_meter)s yet."),
    "no_value_then": gettext_lazy(
        "No reading tells what %(of_meter)s had on %(on)s: enter one of that day or "
        "before."
    ),
    "also_by_value": gettext_lazy("Also by %(closes)s %(unit)s."),
    # --- by the calendar
    "window_days": gettext_lazy("Falls due between %(opens)s and %(closes)s."),
    "also_by_day": gettext_lazy("Also by %(closes)s."),
    "clock_stands": gettext_lazy(
        "Days in a stay do not count, and no end of the stay is known."
    ),
    # --- stays, trips, seasons, life
    "no_stay_entry": gettext_lazy("No stay is open or planned that asks for it."),
    "not_stored": gettext_lazy("The rig is not in a stay."),
    "no_stay_end": gettext_lazy("No end of a stay is known that asks for it."),
    "winterized": gettext_lazy("It is winterized, so nothing is asked."),
    "stay_ends_before": gettext_lazy(
        "The stay is planned to end before %(closes)s, when it would fall due."
    ),
    "planned_end_passed": gettext_lazy(
        "The stay was planned to end on %(on)s. Has it ended?"
    ),
    "waits_in_stay": gettext_lazy(
        "The rig has been in a stay since %(start)s and is not driven."
    ),
    "trip": gettext_lazy("Trip from %(start)s to %(end)s."),
    "no_trip": gettext_lazy("No trip is planned that nothing was done for yet."),
    "no_life_start": gettext_lazy(
        "The date it counts from is not known: read it on the part."
    ),
    # --- records and follow-ups
    "no_record": gettext_lazy("Nothing on record yet."),
    "settled": gettext_lazy("Done on %(on)s; it is asked for once only."),
    "recheck_values": gettext_lazy(
        "Re-check falls between %(opens)s and %(closes)s %(unit)s."
    ),
    "recheck_days": gettext_lazy("Re-check falls between %(opens)s and %(closes)s."),
    "checked_early": gettext_lazy(
        "Checked on %(on)s, %(value)s %(unit)s after: too early to settle it."
    ),
    "checked_without_reading": gettext_lazy(
        "Checked on %(on)s, but without a reading nobody can tell whether far enough "
        "on."
    ),
    "places_but": gettext_lazy("All places but %(places)s."),
    "expected_by_use": gettext_lazy(
        "By its use the rig may be there since %(early)s: check now, or enter a "
        "reading."
    ),
    "expected_no_use": gettext_lazy(
        "Nothing tells how far the rig went since %(since)s: check now, or enter a "
        "reading."
    ),
    # --- putting off
    "deferral_needs_reason": gettext_lazy("Say why it is put off."),
    "deferral_by_keeper_only": gettext_lazy(
        "It is about safety: only a keeper puts it off."
    ),
    "deferral_not_ahead": gettext_lazy("Give a day after %(on)s."),
    "deferral_not_ahead_value": gettext_lazy(
        "Give more than the last reading, %(value)s %(unit)s."
    ),
    "deferral_too_long": gettext_lazy(
        "It is about safety: it is put off by at most 30 days, to %(on)s."
    ),
    "deferral_too_far": gettext_lazy(
        "It is about safety: it is put off to %(value)s %(unit)s at most."
    ),
    "deferral_by_day_only": gettext_lazy(
        "It is about safety: put it off to a day, not by hours."
    ),
    "deferral_needs_reading": gettext_lazy(
        "There is no reading of %(of_meter)s yet: put it off to a day."
    ),
    "deferral_past_day": gettext_lazy(
        "It follows something that happened: it is put off to %(closes)s at most."
    ),
    "deferral_past_value": gettext_lazy(
        "It follows something that happened: it is put off by the meter, to "
        "%(closes)s at most."
    ),
    "deferral_no_window": gettext_lazy(
        "It follows something that happened at a reading not known: do it now, or "
        "enter that reading."
    ),
    # --- forecast
    "forecast_no_readings": gettext_lazy("No reading to go by."),
    "forecast_no_use": gettext_lazy("The readings show no use, so no day is given."),
}


# --- sentences that depend on what is known ------------------------------------------


def _when(fact: Fact, shown: Shown) -> str:
    if fact.values.get("until"):
        return _("between %(on)s and %(until)s") % shown
    return _("on %(on)s") % shown


def _at(fact: Fact, shown: Shown) -> str:
    """ " at 42,310 mi", with what is estimated named so."""
    if not shown.get("value"):
        return ""
    if fact.values.get("estimated"):
        return _(" at %(value)s %(unit)s (estimated from the readings)") % shown
    return _(" at %(value)s %(unit)s") % shown


def _places(shown: Shown) -> str:
    return f" ({shown['places']})" if shown.get("places") else ""


def _done(fact: Fact, shown: Shown) -> str:
    return _("Last done%(at)s %(when)s.") % {
        "at": _at(fact, shown),
        "when": _when(fact, shown),
    }


def _in_service(fact: Fact, shown: Shown) -> str:
    return _("Nothing on record; in service since %(on)s%(at)s.") % {
        **shown,
        "at": _at(fact, shown),
    }


def _stated(fact: Fact, shown: Shown) -> str:
    return _("Counted from %(on)s%(at)s, as stated.") % {
        **shown,
        "at": _at(fact, shown),
    }


def _event(fact: Fact, shown: Shown) -> str:
    return _("%(event)s%(at)s on %(on)s%(places)s.") % {
        "event": event_words(shown["kind"]),
        "places": _places(shown),
        "at": _at(fact, shown),
        "on": shown["on"],
    }


def _raised_anew(fact: Fact, shown: Shown) -> str:
    return _("A fastener had turned%(at)s on %(on)s%(places)s: to be checked anew.") % {
        "places": _places(shown),
        "at": _at(fact, shown),
        "on": shown["on"],
    }


def _rule(fact: Fact, interval: str) -> str:
    cause = fact.values.get("cause")
    if cause == "first":
        return _("The first time after %(interval)s.") % {"interval": interval}
    if cause == "severe":
        text = _("Every %(interval)s, as the rig was on severe duty.")
        return text % {"interval": interval}
    return _("Every %(interval)s.") % {"interval": interval}


def _every_meter(fact: Fact, shown: Shown) -> str:
    return _rule(fact, _("%(interval)s %(unit)s") % shown)


def _every_time(fact: Fact, _shown: Shown) -> str:
    days, months = _count(fact, "days"), _count(fact, "months")
    interval = _months(months) if months else _days(days)
    if months == 12:
        interval = _("12 months")
    if fact.values.get("clock") == "in_use":
        interval = _("%(days)s not in a stay") % {"days": interval}
    return _rule(fact, interval)


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
    doubtful = _count(fact, "doubtful")
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
    return _("That was %(days)s ago.") % {"days": _days(_count(fact, "days"))}


def _left_days(fact: Fact, _shown: Shown) -> str:
    days = _count(fact, "days")
    if days == 0:
        return _("Today is the last day.")
    return ngettext("%(n)d day is left.", "%(n)d days are left.", days) % {"n": days}


def _opens_in_days(fact: Fact, _shown: Shown) -> str:
    return _("It opens in %(days)s.") % {"days": _days(_count(fact, "days"))}


def _checked_early_days(fact: Fact, shown: Shown) -> str:
    return _("Checked on %(on)s, %(days)s after: too early to settle it.") % {
        "on": shown["on"],
        "days": _days(_count(fact, "days")),
    }


def _season(fact: Fact, shown: Shown) -> str:
    name = _("Spring") if fact.values["name"] == "spring" else _("Autumn")
    text = _("%(name)s runs from %(opens)s to %(closes)s.")
    return text % {**shown, "name": name}


def _stay(fact: Fact, shown: Shown) -> str:
    if fact.values.get("end"):
        return _("Stay from %(start)s to %(end)s.") % shown
    return _("Stay from %(start)s; its end is not known.") % shown


def _every_stored(fact: Fact, _shown: Shown) -> str:
    return _("Every %(days)s while stored.") % {"days": _days(_count(fact, "days"))}


def _life(fact: Fact, shown: Shown) -> str:
    span = {"span": _months(_count(fact, "months"))}
    start = fact.values["start"]
    if fact.values.get("month_only") and isinstance(start, date):
        month = f"{MONTHS[start.month - 1]} {start.year}"
        text = _("Good for %(span)s from %(month)s, to the end of the month.")
        return text % {**span, "month": month}
    return _("Good for %(span)s from %(start)s.") % {**span, **shown}


def _no_event(fact: Fact, shown: Shown) -> str:
    text = _("Nothing is open: it follows “%(event)s”.")
    return text % {"event": event_words(shown["kind"])}


def _forecast(fact: Fact, shown: Shown) -> str:
    if not fact.values.get("likely"):
        return _("By its use it opens about %(opens)s.") % shown
    if not fact.values.get("late"):
        return _("By its use it closes about %(likely)s, or much later.") % shown
    return _("By its use it closes about %(likely)s (%(early)s to %(late)s).") % shown


def _forecast_rests_on(fact: Fact, shown: Shown) -> str:
    count = _count(fact, "readings")
    text = ngettext(
        "That rests on %(n)d reading over %(years)s years.",
        "That rests on %(n)d readings over %(years)s years.",
        count,
    )
    return text % {"n": count, "years": shown["years"]}


def _forecast_few_readings(fact: Fact, _shown: Shown) -> str:
    count = _count(fact, "readings")
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


def _meant(question: object, likely: object) -> Callable[[Fact, Shown], str]:
    def worded(fact: Fact, shown: Shown) -> str:
        likely_one = fact.values.get("meant") is not None
        return str(likely if likely_one else question) % shown

    return worded


SPECIAL: dict[str, Callable[[Fact, Shown], str]] = {
    "done": _done,
    "in_service": _in_service,
    "stated": _stated,
    "event": _event,
    "raised_anew": _raised_anew,
    "every_meter": _every_meter,
    "every_time": _every_time,
    "anchor_kept": _anchor_kept,
    "last_reading": _last_reading,
    "left_value": _left_value,
    "over_by_days": _over_by_days,
    "left_days": _left_days,
    "opens_in_days": _opens_in_days,
    "checked_early_days": _checked_early_days,
    "season": _season,
    "stay": _stay,
    "every_stored": _every_stored,
    "life": _life,
    "no_event": _no_event,
    "forecast": _forecast,
    "forecast_rests_on": _forecast_rests_on,
    "forecast_few_readings": _forecast_few_readings,
    "doubtful_reading": _doubtful_reading,
    "cause_typing_slip": _meant(
        gettext_lazy("A slip in typing?"),
        gettext_lazy("A slip in typing? %(meant)s %(unit)s would fit."),
    ),
    "cause_replaced": _meant(
        gettext_lazy("Was the meter replaced, or did it run over its last digit?"),
        gettext_lazy(
            "Did the meter run over its last digit? %(meant)s %(unit)s would fit."
        ),
    ),
    "cause_other_unit": _meant(
        gettext_lazy("Miles for kilometers, or the other way round?"),
        gettext_lazy(
            "Miles for kilometers, or the other way round? %(meant)s %(unit)s would "
            "fit."
        ),
    ),
    "cause_other_rig": _meant(
        gettext_lazy("Is it another rig's reading?"),
        gettext_lazy("Is it a reading of %(rig)s? There it would fit."),
    ),
}
