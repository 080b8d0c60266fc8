"""The one gate for what a meter showed, wherever it is typed: compared with the
readings beside it, said back, and asked about before it counts."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from maintenance.core import facts
from maintenance.core.meters import Intended, Verdict, judge_value
from maintenance.core.units import show
from maintenance.ui.words import day_words, days_long_words

from .models import Meter, Rig
from .queries import meter_beside, meters_of_others

RIGHT, KEEP, REPLACED, MEANT, RIG = "right", "keep", "replaced", "meant:", "rig:"
Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class Doubt:
    """Why a value is asked about, in words, and what it may be, the likeliest first."""

    text: str
    choices: Choices


@dataclass(frozen=True)
class Figure:
    """What a meter showed, as it was meant. `confirmed`: right, whatever the others
    say; `questionable`: kept, and counts nowhere. `echo` says it back in words."""

    meter: Meter
    value: Decimal
    confirmed: bool = False
    questionable: bool = False
    echo: str = ""


@dataclass(frozen=True)
class Typed:
    """A value as it was typed. `fact` is what it was given with ("": it is a reading
    alone, which corrects the one of its day); `instead_of` are the readings (by id)
    that it takes the place of, `beside` values of the same form. `needed`: nothing can
    be estimated for it, so it cannot be kept as questionable."""

    meter: Meter
    on: date
    value: Decimal
    fact: str = ""
    instead_of: Collection[int] = ()
    beside: Sequence[facts.Reading] = ()
    needed: bool = False

    @property
    def reading(self) -> facts.Reading:
        return facts.Reading(self.on, self.value, fact=self.fact)


def judge(typed: Typed) -> Verdict:
    """What the other readings say of a value. The household's other rigs are looked at
    only where it does not fit."""
    meter = typed.meter
    own = meter_beside(meter, typed.on, without=typed.instead_of)
    own = replace(own, readings=(*own.readings, *typed.beside))
    return judge_value(own, typed.reading, others=lambda: _other_rigs(typed))


def _other_rigs(typed: Typed) -> dict[str, facts.Meter]:
    others = meters_of_others(typed.meter.rig, typed.meter.kind)
    return {one.rig.name: meter_beside(one, typed.on) for one in others}


def doubt_about(verdict: Verdict, typed: Typed) -> Doubt | None:
    """None when the value fits."""
    if verdict.fits:
        return None
    if verdict.possible:
        return Doubt(_unusual(verdict), _choices(verdict, typed))
    return Doubt(_impossible(verdict), _choices(verdict, typed))


def echo_words(verdict: Verdict) -> str:
    """“57,900 mi since 1 Oct 2026, 965 mi a day”; empty for a first value."""
    if verdict.echo is None:
        return ""
    values = verdict.echo.values
    unit, on, per_day = str(values["unit"]), values["since_on"], values["per_day"]
    gained = _number(values["gained"])
    if not isinstance(on, date):
        return ""
    if gained < 0:
        return f"{show(-gained, unit)} less than on {day_words(on)}"
    words = f"{show(gained, unit)} since {day_words(on)}"
    if per_day is None or values["days"] == 1:
        return words
    return f"{words}, {show(_number(per_day), unit, places=_places(unit))} a day"


def _places(unit: str) -> int:
    return 1 if unit == "h" else 0


def _number(value: facts.FactValue) -> Decimal:
    return Decimal(str(value))


def _impossible(verdict: Verdict) -> str:
    values = verdict.reasons[0].values
    sides = [
        f"{show(_number(values[side]), str(values['unit']))} on {day_words(on)}"
        for side in ("before", "after")
        if isinstance(on := values[f"{side}_on"], date)
    ]
    text = f"This doesn't fit {' and '.join(sides)}."
    gained = verdict.echo.values["gained"] if verdict.echo else 0
    if _number(gained) > 0:
        text += f" That would be {echo_words(verdict)}."
    return f"{text} What is it?"


def _unusual(verdict: Verdict) -> str:
    values = verdict.reasons[0].values
    unit, days = str(values["unit"]), int(str(values["days"]))
    most = show(_number(values["usual_per_day"]), unit, places=_places(unit))
    gained = show(_number(values["gained"]), unit)
    in_days = f"in {days_long_words(max(days, 1))}"
    return (
        f"That's {gained} {in_days}. This rig's most so far in that time is {most} "
        "a day. Is it right?"
    )


def _choices(verdict: Verdict, typed: Typed) -> Choices:
    """Of a meter that ran over its last digit the replacement is noted, whatever it
    shows. What was given with an event or work is of this rig, whatever it would fit.
    """
    meant = [one for one in verdict.intended if one.cause != "replaced"]
    if typed.fact:
        meant = [one for one in meant if one.cause != "other_rig"]
    right = "It's right as I typed it"
    if not verdict.possible:
        right += "; the other readings are wrong"
    offered = [*map(_choice, meant)]
    if not verdict.possible and not typed.needed:
        offered.append((REPLACED, "The meter was replaced, or it rolled over"))
    offered.append((RIGHT, right))
    if not typed.needed:
        offered.append((KEEP, "I don't know. Keep it as questionable; it won't count"))
    return offered


def _choice(one: Intended) -> tuple[str, str]:
    if one.cause == "other_rig":
        return f"{RIG}{one.rig}", f"It's for {one.rig}"
    shown = show(one.value, one.unit)
    if one.cause == "other_unit":
        words = f"Wrong unit: I meant {shown}"
    else:
        words = f"Typo: I meant {shown}"
    return f"{MEANT}{one.value}", words


def answered(typed: Typed, answer: str, verdict: Verdict) -> Figure:
    """The figure that was meant by an `answer` that was offered."""
    if answer == RIGHT:
        return Figure(
            typed.meter, typed.value, confirmed=True, echo=echo_words(verdict)
        )
    if answer == KEEP:
        return Figure(typed.meter, typed.value, questionable=True)
    meter, value = typed.meter, typed.value
    if answer.startswith(RIG):
        rigs = Rig.objects.for_household(meter.rig.household)
        meter = rigs.get(name=answer.removeprefix(RIG)).meters.get(kind=meter.kind)
    else:
        value = Decimal(answer.removeprefix(MEANT))
    meant = replace(typed, meter=meter, value=value)
    return Figure(meter, value, echo=echo_words(judge(meant)))
