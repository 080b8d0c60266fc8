"""Facts whose sentence depends on what is known, by key; those of a kind of trigger
stand with it in `plans/kinds/`."""

from collections.abc import Callable
from decimal import Decimal

from maintenance.core.facts import Fact
from maintenance.core.words import counted
from maintenance.plans.event_words import event_words
from maintenance.plans.wording.values import Shown, at_figure, days_in_words, whole
from maintenance.ui.words import days_long_words


def _when(fact: Fact, shown: Shown) -> str:
    if fact.values.get("until"):
        return f"between {shown['on']} and {shown['until']}"
    return f"on {shown['on']}"


def _done(fact: Fact, shown: Shown) -> str:
    return f"Last done{at_figure(fact, shown)} {_when(fact, shown)}."


def _in_service(fact: Fact, shown: Shown) -> str:
    return f"Nothing on record; in service since {shown['on']}{at_figure(fact, shown)}."


def _renewed(fact: Fact, shown: Shown) -> str:
    event = event_words(shown["kind"])
    return f"{event} on {shown['on']}{at_figure(fact, shown)}: counted from then."


def _stated(fact: Fact, shown: Shown) -> str:
    return f"Counted from {shown['on']}{at_figure(fact, shown)}, as you entered."


def _anchor_kept(fact: Fact, shown: Shown) -> str:
    point = shown.get("on") or f"{shown['value']} {shown['unit']}"
    text = "Counted from %(point)s, when it was due."
    return text % {"point": point}


def _last_reading(fact: Fact, shown: Shown) -> str:
    what = ""
    if fact.values.get("meter") != "odometer":
        what = f" of {shown['of_meter']}"
    on = f" on {shown['on']}" if fact.values.get("on") else ""
    text = f"Last reading{what} {shown['value']} {shown['unit']}{on}."
    doubtful = whole(fact, "doubtful")
    if not doubtful:
        return text
    left_out = counted(doubtful, "questionable reading is", "questionable readings are")
    return f"{text} {left_out} left out."


def _left_value(fact: Fact, shown: Shown) -> str:
    if fact.values["value"] == 0:
        return "0 to go: the limit is this very reading."
    return f"{shown['value']} {shown['unit']} to go."


def _over_by_days(fact: Fact, _shown: Shown) -> str:
    return f"That was {days_long_words(whole(fact, 'days'))} ago."


def _left_days(fact: Fact, _shown: Shown) -> str:
    days = whole(fact, "days")
    if days == 0:
        return "Today is the last day."
    return f"{days_long_words(days)} to go."


def _opens_in_days(fact: Fact, _shown: Shown) -> str:
    return f"It comes due in {days_long_words(whole(fact, 'days'))}."


def _stay(fact: Fact, shown: Shown) -> str:
    if fact.values.get("end"):
        return f"In storage from {shown['start']} to {shown['end']}."
    return f"In storage from {shown['start']}; the end isn't known."


def _forecast(fact: Fact, shown: Shown) -> str:
    if not fact.values.get("likely"):
        return f"At its usual use, it comes due about {shown['opens']}."
    if not fact.values.get("late"):
        return (
            f"At its usual use, the limit comes about {shown['likely']}, or much later."
        )
    about = f"At its usual use, the limit comes about {shown['likely']}"
    if shown["early"] == shown["late"]:
        return f"{about}."
    return f"{about} ({shown['early']} to {shown['late']})."


def _forecast_rests_on(fact: Fact, shown: Shown) -> str:
    count = whole(fact, "readings")
    span = _years(fact, shown["years"])
    return f"Estimated from {counted(count, 'reading')} over {span}."


def _years(fact: Fact, shown: str) -> str:
    years = fact.values["years"]
    if not isinstance(years, Decimal | int) or years < 1:
        return "less than a year"
    return f"{shown} year" if years == 1 else f"{shown} years"


def _forecast_few_readings(fact: Fact, _shown: Shown) -> str:
    count = whole(fact, "readings")
    few = "One reading is" if count == 1 else f"{count} readings are"
    return f"{few} little to go by: the dates are a rough guess."


# --- a doubtful reading --------------------------------------------------------------


def _doubtful_reading(fact: Fact, shown: Shown) -> str:
    before = f"{shown['before']} {shown['unit']} on {shown['before_on']}"
    after = f"{shown['after']} {shown['unit']} on {shown['after_on']}"
    text = f"{shown['value']} {shown['unit']} on {shown['on']} doesn't fit "
    if fact.values.get("before") is None:
        return text + f"{after} after it."
    if fact.values.get("after") is None:
        return text + f"{before} before it."
    both = {"before": before, "after": after}
    return text + f"between {both['before']} and {both['after']}."


def _gained_since(fact: Fact, shown: Shown) -> str:
    said = f"{shown['gained']} {shown['unit']} since {shown['since_on']}"
    if fact.values.get("per_day") is None:
        return f"{said}."
    return f"{said}, {shown['per_day']} {shown['unit']} a day."


def _too_fast(_fact: Fact, shown: Shown) -> str:
    unit = shown["unit"]
    return (
        f"From {shown['other']} {unit} on {shown['other_on']} that would be"
        f" {shown['per_day']} {unit} a day; the most possible is {shown['most']}."
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
