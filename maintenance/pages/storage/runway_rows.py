"""The runways of a stay in words: a date, a range, what it rests on, a picture."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench.answers import Answer, num
from maintenance.core.bench.runway import Days
from maintenance.ui.charts import Span, SpanChart
from maintenance.ui.words import day_words
from maintenance.vehicles.models import BatteryCare, Stay
from maintenance.vehicles.runways import (
    BatteryRunway,
    StayRunways,
    amps_words,
    runways_of,
)

FAR = 3650  # days; what lies farther is “not within ten years”
NAMES = {
    "chassis": gettext_lazy("Chassis battery"),
    "house": gettext_lazy("House battery"),
}


@dataclass(frozen=True)
class Line:
    """`what` in words, and when: the likely day and the range, or why there is none."""

    what: str
    when: str
    formula: str = ""


@dataclass(frozen=True)
class RunwayCard:
    """One thing that lasts so long."""

    key: str
    title: str
    about: str
    lines: list[Line]
    rests_on: list[str]
    cautions: tuple[str, ...] = ()
    chart: SpanChart | None = None

    @property
    def sources(self) -> str:
        """As one sentence; some of them come with a stop of their own."""
        return "; ".join(text.rstrip(".") for text in self.rests_on)


def cards_of(stay: Stay, today: date) -> list[RunwayCard]:
    ways = runways_of(stay)
    return [*_batteries(ways, today), *_traps(ways, today), *_frost(ways), *_gas(ways)]


def _batteries(ways: StayRunways, today: date) -> Iterator[RunwayCard]:
    for battery in ways.batteries:
        spans = _spans(battery)
        yield RunwayCard(
            key=battery.which,
            title=str(NAMES[battery.which]),
            about=_about(battery),
            lines=[*_lines(battery), *_gained(battery)],
            rests_on=_rests_on(battery),
            cautions=battery.connected.cautions,
            chart=SpanChart(_("Days on which it is reached"), spans, today)
            if spans
            else None,
        )


def _about(battery: BatteryRunway) -> str:
    if battery.care == BatteryCare.CHARGED:
        return _("It is kept charged: look that the charger works.")
    if battery.read:
        return _("Read as %(read)s on %(day)s, and counted from then.") % {
            "read": battery.read,
            "day": day_words(battery.start),
        }
    return _("Taken as full on %(day)s. A reading at rest is worth more.") % {
        "day": day_words(battery.start)
    }


def _marks(battery: BatteryRunway) -> Iterator[tuple[str, Days]]:
    runway = battery.now
    if runway is None:
        return
    lithium = battery.kind == "lifepo4"
    yield (
        (_("Recharge, at half") if lithium else _("Recharge, at 12.4 V")),
        runway.recharge,
    )
    if not lithium:
        yield _("Half empty"), runway.half
    yield _("Empty"), runway.empty
    if runway.freezing is not None:
        yield _("It could freeze there"), runway.freezing


def _lines(battery: BatteryRunway) -> list[Line]:
    return [
        Line(name, _when(battery, days), days.likely.formula if days.likely else "")
        for name, days in _marks(battery)
    ]


def _when(battery: BatteryRunway, days: Days) -> str:
    likely = battery.day(days.likely)
    if likely is None:
        return _("not within ten years by these figures")
    early, late = battery.day(days.early), battery.day(days.late)
    span = _("likely %(likely)s, from %(early)s on") % {
        "likely": day_words(likely),
        "early": day_words(early or likely),
    }
    if late is None:
        return span
    return _("likely %(likely)s, from %(early)s to %(late)s") % {
        "likely": day_words(likely),
        "early": day_words(early or likely),
        "late": day_words(late),
    }


def _gained(battery: BatteryRunway) -> list[Line]:
    """What disconnecting would give, while it is connected."""
    if battery.care != BatteryCare.CONNECTED:
        return []
    return [
        Line(
            _("Disconnected instead, recharge"),
            _when(battery, battery.disconnected.recharge),
        )
    ]


def _spans(battery: BatteryRunway) -> list[Span]:
    made = []
    for name, days in _marks(battery):
        likely = battery.day(days.likely)
        if likely is not None:
            early = battery.day(days.early) or likely
            late = battery.day(days.late) or likely + (likely - early)
            made.append(Span(name, early, likely, late))
    return made


def _rests_on(battery: BatteryRunway) -> list[str]:
    drain = _("nothing draws on it")
    if battery.care == BatteryCare.CONNECTED:
        drain = _("%(amps)s draw on it") % {"amps": amps_words(battery.drain)}
    own = battery.connected.self_discharge
    return [
        _("%(capacity)s Ah, %(charge)s %% at the start")
        % {"capacity": num(battery.capacity, 0), "charge": num(battery.charge, 0)},
        *_age(battery),
        drain,
        _("it loses %(low)s to %(high)s %% a month by itself at that temperature")
        % {"low": num(own.low, 1), "high": num(own.high, 1)},
    ]


def _age(battery: BatteryRunway) -> Iterator[str]:
    """Said, not reckoned with: no source gives a figure for it."""
    if battery.since is not None:
        yield _("installed %(on)s, as if it still held all of that") % {
            "on": day_words(battery.since)
        }


def _traps(ways: StayRunways, today: date) -> Iterator[RunwayCard]:
    found = ways.traps
    if found is None:
        return
    start = ways.stay.start
    early, late = _after(start, found.earliest), _after(start, found.latest)
    yield RunwayCard(
        key="traps",
        title=_("Drain traps"),
        about=_("Fill them every %(days)d days in this stay.")
        % {"days": found.flush_every},
        lines=[
            Line(_("Dry at the earliest"), day_words(early), found.earliest.formula),
            Line(_("Dry at the latest"), day_words(late), found.latest.formula),
        ],
        rests_on=[found.upper.source, found.lower.source],
        chart=SpanChart(
            _("Between an upper and a lower model"),
            [Span(_("Dry"), early, early + (late - early) / 2, late)],
            today,
        ),
    )


def _after(start: date, days: Answer) -> date:
    return start + timedelta(days=min(int(days.value), FAR))


def _frost(ways: StayRunways) -> Iterator[RunwayCard]:
    risk, amount = ways.frost, ways.antifreeze
    if risk is None:
        return
    about = _("It freezes there: water has to be out, replaced, or kept warm.")
    if not risk.freezes:
        about = _("No frost is expected there.")
    lines = []
    if amount is not None:
        told = _("%(least)s to %(most)s gal") % {
            "least": num(amount.least.value, 1),
            "most": num(amount.most.value, 1),
        }
        lines.append(Line(_("Antifreeze to buy"), told, amount.least.formula))
    yield RunwayCard(
        key="frost",
        title=_("Water and frost"),
        about=about,
        lines=lines,
        rests_on=[risk.source],
        cautions=risk.cautions if risk.freezes else (),
    )


def _gas(ways: StayRunways) -> Iterator[RunwayCard]:
    hours = ways.propane
    if hours is None:
        return
    told = _("%(hours)s hours, %(days)s days") % {
        "hours": num(hours.value, 0),
        "days": num(hours.value / 24, 1),
    }
    yield RunwayCard(
        key="propane",
        title=_("Propane"),
        about=_("With the appliances that are listed burning."),
        lines=[Line(_("It lasts"), told, hours.formula)],
        rests_on=[hours.source],
        cautions=hours.cautions,
    )
