"""The gate for figures of meters: a doubtful one is asked about before it counts."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation

from django.utils.formats import date_format

from maintenance.core import facts
from maintenance.core.meters import Intended, Verdict, judge_value
from maintenance.core.units import show
from maintenance.households.models import Member
from maintenance.households.refusals import Refused

from .forms import ReadingForm, usual_volume_unit
from .hubs import add_towed, counts_by_hand
from .models import Meter, Reading, Rig, Trip
from .queries import meters_of_household
from .services import let_leave, record_fuel_stop, record_reading

ROLLED = 1  # mile or km by which a rig moves about where it stands
RIGHT, KEEP, REPLACED, MEANT, RIG = "right", "keep", "replaced", "meant:", "rig:"


@dataclass(frozen=True)
class Doubt:
    """What does not fit, in words, and what it may be."""

    text: str
    choices: list[tuple[str, str]]


@dataclass(frozen=True)
class Figure:
    """What a meter showed, as it was meant; `confirmed`: whatever the others say."""

    meter: Meter
    value: Decimal
    confirmed: bool = False


def doubt_about(
    meter: Meter, *, on: date, value: Decimal, fact: str = ""
) -> Doubt | None:
    """None when the reading fits the others of its meter. One of a `fact` of its own
    (an event) corrects none of its day, so it has to fit those too."""
    household = meters_of_household(meter.rig.household)
    own = household[meter.rig][meter.kind]
    others = {
        rig.name: meters[meter.kind]
        for rig, meters in household.items()
        if rig != meter.rig and meter.kind in meters
    }
    reading = facts.Reading(on, value, fact=fact)
    verdict = judge_value(own, reading, others=others)
    if verdict.possible:
        return None
    return Doubt(_wrong(verdict.reasons[0]), _choices(verdict))


def _wrong(fact: facts.Fact) -> str:
    values = fact.values
    sides = [
        "{value} on {on}".format(
            value=show(Decimal(str(values[side])), str(values["unit"])),
            on=date_format(on, "j M Y"),
        )
        for side in ("before", "after")
        if isinstance(on := values[f"{side}_on"], date)
    ]
    return f"This does not fit {' and '.join(sides)}. What is it?"


def _choices(verdict: Verdict) -> list[tuple[str, str]]:
    """What may have been meant, the likeliest first; of a meter that ran over its last
    digit the replacement is noted, whatever it shows."""
    meant = [one for one in verdict.intended if one.cause != "replaced"]
    return [
        *map(_choice, meant),
        (REPLACED, "The meter was replaced, or it rolled over"),
        (RIGHT, "It is right as I typed it; the other readings are wrong"),
        (KEEP, "I do not know. Keep it as doubtful; it will not count"),
    ]


def _choice(one: Intended) -> tuple[str, str]:
    if one.cause == "other_rig":
        return f"{RIG}{one.rig}", f"It belongs to {one.rig}"
    shown = show(one.value, one.unit)
    if one.cause == "other_unit":
        words = "It was in the other unit: that makes %(value)s"
    else:
        words = "A typing slip: I meant %(value)s"
    return f"{MEANT}{one.value}", words % {"value": shown}


def give(
    form: ReadingForm,
    *,
    by: Member,
    today: date,
    meter: Meter,
    value: Decimal,
    on: date,
    doubt: str = "",
    volume: Decimal | None = None,
    price: Decimal | None = None,
    full: bool = False,
    left_on: date | None = None,
    still: bool = False,
) -> Reading | Trip:
    """Store the reading of a form, or ask back in it when the reading is doubtful, or
    when the rig has moved since it was due out of storage: then it left on `left_on`,
    or is there `still`. With `volume`, in the household's usual unit, it was at a fuel
    stop. Of a trailer without a hub meter it is what was towed since."""
    if counts_by_hand(meter):
        return add_towed(meter, by=by, today=today, on=on, distance=value)
    meant = Figure(meter, value)
    if on <= today:
        meant = figure_meant(meter, on=on, value=value, answer=doubt, ask=form.ask)
        if not still and has_moved(meant, on):
            let_leave(meant.meter.rig, by=by, today=today, begins=on, left_on=left_on)
    if not volume:
        return record_reading(
            meant.meter,
            by=by,
            today=today,
            on=on,
            value=meant.value,
            confirmed=meant.confirmed,
        )
    return record_fuel_stop(
        meant.meter,
        by=by,
        today=today,
        on=on,
        value=meant.value,
        confirmed=meant.confirmed,
        volume=volume,
        unit=usual_volume_unit(by.household),
        price=price,
        full=full,
    ).reading


def has_moved(figure: Figure, on: date) -> bool:
    """Whether it shows more than before, though the rig is in a stay of which the end
    that was planned has passed. Rolled about the lot is no trip."""
    meter = figure.meter
    stay = meter.rig.stays.filter(start__lt=on, ended_on=None).order_by("start").last()
    if meter.unit == "h" or stay is None or stay.planned_until is None:
        return False
    before = meter.readings.filter(on__lte=on, withdrawn=False, doubtful=False)
    last = before.order_by("on", "entered_at").last()
    return (
        stay.planned_until < on
        and last is not None
        and figure.value > last.value + ROLLED
    )


def figure_meant(
    meter: Meter,
    *,
    on: date,
    value: Decimal,
    answer: str,
    ask: Callable[[list[tuple[str, str]]], None],
    field: str = "value",
    fact: str = "",
) -> Figure:
    """The figure that was typed, or the one that was meant by the `answer` to what does
    not fit. Unclear, the form is to `ask`, and it is Refused with the question. With a
    `fact` of its own it belongs to this rig, whatever it would fit."""
    found = doubt_about(meter, on=on, value=value, fact=fact)
    if found is None or answer == KEEP:
        return Figure(meter, value)
    if answer == RIGHT:
        return Figure(meter, value, confirmed=True)
    choices = [pair for pair in found.choices if not (fact and pair[0].startswith(RIG))]
    if answer not in dict(choices):
        ask(choices)
        raise Refused(found.text, field=field)
    if answer == REPLACED:
        ask(choices)
        raise Refused(
            (
                "Note the replacement first, on the rig's page under “Meter replaced”; "
                "then give this reading."
            ),
            field=field,
        )
    if answer.startswith(MEANT):
        return Figure(meter, _number(answer.removeprefix(MEANT), value))
    other = Rig.objects.for_household(meter.rig.household).get(
        name=answer.removeprefix(RIG)
    )
    return Figure(other.meters.get(kind=meter.kind), value)


def _number(text: str, otherwise: Decimal) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:
        return otherwise
