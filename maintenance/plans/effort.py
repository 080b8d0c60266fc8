"""What items cost in minutes a year, in words, and the year it is reckoned with."""

from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from maintenance.core.rigday import RigDay
from maintenance.core.units import convert, show
from maintenance.vehicles.models import HOUR_METERS, MeterKind, Rig
from maintenance.vehicles.queries import rig_facts

from .procedures.effort import YearOfUse

LEAST_DAYS = 180  # of service, before the rig's own use says anything of a year
# Our own assumption where a rig's readings do not tell yet.
ASSUMED = {
    MeterKind.ODOMETER: (Decimal(5000), "mi"),
    MeterKind.TOWED: (Decimal(3000), "mi"),
    MeterKind.ENGINE: (Decimal(150), "h"),
    MeterKind.GENERATOR: (Decimal(50), "h"),
}


def year_of(rig: Rig, today: date) -> tuple[YearOfUse, str]:
    """A year of the rig, and the sentence that says how it is reckoned."""
    known = rig_facts([rig], today)[rig.pk]
    day = RigDay(known.without_items(), rig.household.calendar, today)
    served = (today - rig.in_service_on).days
    counts, words = {}, []
    for kind in known.meters:
        track = day.tracks[kind]
        start = known.in_service.values.get(kind, Decimal(0))
        own = (track.known or Decimal(0)) - start
        if served >= LEAST_DAYS and own > 0:
            counts[kind] = _round(own * 365 / served)
            template = _("%(n)s a year as in its life so far")
        else:
            value, unit = ASSUMED[MeterKind(kind)]
            counts[kind] = _round(convert(value, unit, track.unit))
            template = _("%(n)s a year, which is assumed")
        words.append(template % {"n": _of(kind, show(counts[kind], track.unit))})
    units = {kind: str(track.unit) for kind, track in day.tracks.items()}
    year = YearOfUse(units, counts)
    return year, _sentence(year, words)


def _round(value: Decimal) -> Decimal:
    """To two digits: more would feign a precision that it does not have."""
    places = max(0, value.adjusted() - 1)
    return value.quantize(Decimal(1).scaleb(places))


def _of(kind: str, shown: str) -> str:
    if kind not in HOUR_METERS:
        return shown
    names = {"engine": _("engine"), "generator": _("generator")}
    return _("%(hours)s of the %(what)s") % {"hours": shown, "what": names[kind]}


def _sentence(year: YearOfUse, meters: list[str]) -> str:
    parts = [
        *meters,
        _("one stay of %(n)d days") % {"n": year.stored_days},
        ngettext("%(n)d trip", "%(n)d trips", year.trips) % {"n": year.trips},
    ]
    return _(
        "Reckoned with %(parts)s. An item due by distance or by date counts by "
        "whichever comes more often; what follows an event is not counted."
    ) % {"parts": ", ".join(parts)}


def effort_in_words(minutes: int, times: Decimal, *, on_event: bool) -> str:
    """“10 minutes, 4 times a year”, “60 minutes, every 3 years”."""
    shown = ngettext("%(n)d minute", "%(n)d minutes", minutes) % {"n": minutes}
    if on_event:
        return _("%(minutes)s each time it happens") % {"minutes": shown}
    if times == 0:
        return _("%(minutes)s when needed") % {"minutes": shown}
    return _("%(minutes)s, %(often)s") % {"minutes": shown, "often": _often(times)}


def _often(times: Decimal) -> str:
    if times < Decimal("0.75"):
        years = round(1 / times)
        return ngettext("every year", "every %(n)d years", years) % {"n": years}
    count = round(times)
    if count == 1:
        return _("once a year")
    return _("%(n)d times a year") % {"n": count}


def hours_in_words(minutes: Decimal) -> str:
    """A sum of minutes, as coarse as it is meant: “40 minutes”, “12 hours”."""
    if minutes < 90:
        count = round(minutes)
        return ngettext("%(n)d minute", "%(n)d minutes", count) % {"n": count}
    count = round(minutes / 60)
    return ngettext("%(n)d hour", "%(n)d hours", count) % {"n": count}
