"""What a form asks on the road: the tow vehicle's odometer, beside how far the rig has
been towed since a wheel was off."""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from maintenance.core import facts
from maintenance.core.facts import TOWED, WHEEL_DISTANCE
from maintenance.core.meters.track import ZERO
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.events import WHEEL_OFF
from maintenance.core.units import show
from maintenance.ui.number_fields import MeasureField
from maintenance.ui.words import day_words

from .models import Meter, Rig
from .queries import decimals, use_facts

WITHOUT = "Without it, a check doesn't count."


def tow_field(rig: Rig, tow: Meter) -> MeasureField:
    since = towed_since_wheel_off(rig, tow)
    return MeasureField(
        label=f"Odometer of {tow.rig} now ({tow.unit})",
        unit=tow.unit,
        required=False,
        help_text=f"{since} {WITHOUT}".strip(),
    )


def towed_since_wheel_off(rig: Rig, tow: Meter) -> str:
    """“40 mi towed since the wheel was off on May 4 (L1), as of Mule's reading on
    May 5.” Empty where no wheel was off."""
    today = rig.household.today()
    events = rig.events.filter(kind=WHEEL_OFF, withdrawn=False, on__lte=today)
    event = events.order_by("on", "pk").last()
    if event is None:
        return ""
    known = use_facts([rig], today)[rig.pk].without_items()
    day = RigTimeline(known, facts.Calendar(), today)
    name = next((one for one in (WHEEL_DISTANCE, TOWED) if one in day.tracks), None)
    if name is None:
        return ""
    track, values = day.tracks[name], decimals(event.values)
    at, _estimated = day.value_at(name, event.on, values)
    if at is None or track.known is None or track.known_on is None:
        return ""
    is_open = day.is_open(name, event.on, values)
    rounding = ROUND_CEILING if is_open else ROUND_HALF_UP
    gone = show(max(track.known - at, ZERO).quantize(Decimal(1), rounding), track.unit)
    most = "At most " if is_open else ""
    where = f" ({', '.join(event.places)})" if event.places else ""
    return (
        f"{most}{gone} towed since the wheel was off on {day_words(event.on)}{where}, "
        f"as of {tow.rig}'s reading on {day_words(track.known_on)}."
    )
