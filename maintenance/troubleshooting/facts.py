"""What a rig's own records say to a question of a guide."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core import facts
from maintenance.core.timeline import RigTimeline
from maintenance.core.trouble import Question
from maintenance.core.units import convert, show
from maintenance.plans.models import COMPLETING, Completion, PlanItem
from maintenance.ui.words import ago_words, day_words
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import rig_facts

TWO_WEEKS = timedelta(days=14)
LATELY = timedelta(days=60)  # where no meter tells how far it went since
FAR = Decimal(500)  # mi; asks for the same distance as the guide does


@dataclass(frozen=True)
class Known:
    """The answer that the records give, and why."""

    answer: str
    words: str


def known_of(rig: Rig, question: Question, today: date) -> Known | None:
    """What the rig's records answer to this question, if they do."""
    look = FACTS.get(question.fact)
    if look is None:
        return None
    known = rig_facts([rig], today)[rig.pk]
    bare = facts.Rig(known.meters, (), stays=known.stays, events=known.events)
    return look(RigTimeline(bare, rig.household.calendar, today))


def _stored_two_weeks(day: RigTimeline) -> Known | None:
    for stay in reversed(day.stays):
        until = min(stay.until or day.as_of, day.as_of)
        recent = day.as_of - until <= TWO_WEEKS
        if recent and until - stay.start >= TWO_WEEKS:
            days = (until - stay.start).days
            words = "It was in storage for %(n)d days from %(start)s."
            return Known("yes", words % {"n": days, "start": day_words(stay.start)})
    return None


def _wheel_off_lately(day: RigTimeline) -> Known | None:
    events = day.events_of("wheel_off")
    if not events:
        return None
    last = max(events, key=lambda event: event.on)
    on = day_words(last.on)
    meter = day.distance_meter
    at = day.own_figure(meter, last.on, last.values) if meter else None
    known = day.tracks[meter].known if meter else None
    if meter is None or at is None or known is None:
        near = day.as_of - last.on <= LATELY
        return Known("yes", f"A wheel was off on {on}.") if near else None
    unit = day.tracks[meter].unit
    driven = max(known - day.tracks[meter].scale.true(at, last.on), Decimal(0))
    near = convert(driven, unit, "mi") <= FAR
    words = "A wheel was off on %(on)s, %(far)s before the last reading."
    return Known("yes" if near else "no", words % {"on": on, "far": show(driven, unit)})


def _cylinder_swapped(day: RigTimeline) -> Known | None:
    for kind in ("cylinder_swapped", "propane_opened"):
        for event in day.events_of(kind):
            if day.as_of - event.on <= TWO_WEEKS:
                words = "Your records show a cylinder swap or gas work on %(on)s."
                return Known("yes", words % {"on": day_words(event.on)})
    return _stored_two_weeks(day)


FACTS: dict[str, Callable[[RigTimeline], Known | None]] = {
    "stored_two_weeks": _stored_two_weeks,
    "wheel_off_lately": _wheel_off_lately,
    "cylinder_swapped": _cylinder_swapped,
}


def last_times(rig: Rig, keys: Iterable[str], today: date) -> list[str]:
    """When each of these jobs was last done on the rig, newest first, in words."""
    rows = Completion.objects.filter(
        item__rig=rig,
        item__key__in=tuple(keys),
        withdrawn=False,
        outcome__in=COMPLETING,
        on__lte=today,
    ).select_related("item")
    latest: dict[PlanItem, date] = {}
    for row in rows.order_by("on", "pk"):
        latest[row.item] = row.on
    newest = sorted(latest.items(), key=lambda pair: pair[1], reverse=True)
    return [f"{item.title}: {_ago(on, today)}" for item, on in newest]


def _ago(on: date, today: date) -> str:
    if today - on <= LATELY:
        return f"done {ago_words(on, today)}"
    return f"last done on {day_words(on)}"
