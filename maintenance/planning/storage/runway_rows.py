"""The runways of a stay in words: a date, a range, what it rests on, a picture."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from maintenance.core.calculators.answers import Answer, num
from maintenance.core.calculators.runway import Days
from maintenance.ui.local import emergency_number, in_country
from maintenance.ui.words import day_words, month_day_words
from maintenance.vehicles.models import BatteryCare
from maintenance.vehicles.runways import (
    BatteryRunway,
    StayRunways,
    amps_words,
)

FAR = 3650  # days; what lies farther is “not within ten years”
NAMES = {
    "chassis": "Chassis battery",
    "house": "House battery",
}


@dataclass(frozen=True)
class Line:
    """`what` in words, and when: the likely day and the range, or why there is none."""

    what: str
    when: str
    formula: str = ""


@dataclass(frozen=True)
class Lasting:
    """`sure` until then at least, `maybe` until then at most; `read` says from what."""

    begun: date
    sure: date
    maybe: date
    words: str
    read: str


@dataclass(frozen=True)
class RunwayCard:
    """One thing that lasts so long."""

    key: str
    title: str
    about: str
    lines: list[Line]
    rests_on: list[str]
    cautions: tuple[str, ...] = ()
    lasts: Lasting | None = None

    @property
    def sources(self) -> str:
        """As one sentence; some of them come with a stop of their own."""
        return "; ".join(text.rstrip(".") for text in self.rests_on)


def cards_of(ways: StayRunways, today: date) -> list[RunwayCard]:
    return [*_batteries(ways, today), *_traps(ways, today), *_frost(ways), *_gas(ways)]


def care_of(cards: Iterable[RunwayCard]) -> list[str]:
    """Every caution of the cards, once; frost has its own place."""
    told = [words for card in cards if card.key != "frost" for words in card.cautions]
    return in_country(list(dict.fromkeys(told)), emergency_number())


def _batteries(ways: StayRunways, today: date) -> Iterator[RunwayCard]:
    for battery in ways.batteries:
        yield RunwayCard(
            key=battery.which,
            title=NAMES[battery.which],
            about=_about(battery),
            lines=[*_lines(battery), *_gained(battery)],
            rests_on=_rests_on(battery),
            cautions=battery.connected.cautions,
            lasts=_battery_lasts(battery, today),
        )


def _about(battery: BatteryRunway) -> str:
    if battery.care == BatteryCare.CHARGED:
        return "It's kept charged: check that the charger works."
    if battery.read:
        return (
            f"Read as {battery.read} on {day_words(battery.start)}, and estimated from "
            "then."
        )
    return f"Assumed full on {day_words(battery.start)}. A reading at rest is better."


def _marks(battery: BatteryRunway) -> Iterator[tuple[str, Days]]:
    runway = battery.now
    if runway is None:
        return
    lithium = battery.kind == "lifepo4"
    yield (
        ("Recharge, at half" if lithium else "Recharge, at 12.4 V"),
        runway.recharge,
    )
    if not lithium:
        yield "Half empty", runway.half
    yield "Empty", runway.empty
    if runway.freezing is not None:
        yield "Could freeze", runway.freezing


def _lines(battery: BatteryRunway) -> list[Line]:
    return [
        Line(name, _when(battery, days), days.likely.formula if days.likely else "")
        for name, days in _marks(battery)
    ]


def _when(battery: BatteryRunway, days: Days) -> str:
    likely = battery.day(days.likely)
    if likely is None:
        return "not within ten years"
    early, late = battery.day(days.early), battery.day(days.late)
    span = f"likely {day_words(likely)}, from {day_words(early or likely)} on"
    if late is None:
        return span
    return (
        f"likely {day_words(likely)}, from {day_words(early or likely)} to "
        f"{day_words(late)}"
    )


def _gained(battery: BatteryRunway) -> list[Line]:
    """What disconnecting would give, while it is connected."""
    if battery.care != BatteryCare.CONNECTED:
        return []
    return [
        Line(
            "Disconnected instead, recharge",
            _when(battery, battery.disconnected.recharge),
        )
    ]


def _battery_lasts(battery: BatteryRunway, today: date) -> Lasting | None:
    """Until it is to be charged again, which comes first of its marks."""
    runway = battery.now
    likely = battery.day(runway.recharge.likely) if runway else None
    if runway is None or likely is None:
        return None
    early = battery.day(runway.recharge.early) or likely
    late = battery.day(runway.recharge.late) or likely + (likely - early)
    words = f"good at least to {day_words(early)}"
    if early < today:
        words = f"may need a charge since {day_words(early)}"
    read = f"{battery.read}, " if battery.read else "assumed full, "
    return Lasting(
        battery.start, early, late, words, read + month_day_words(battery.start)
    )


def _rests_on(battery: BatteryRunway) -> list[str]:
    drain = "nothing draws on it"
    if battery.care == BatteryCare.CONNECTED:
        drain = f"{amps_words(battery.drain)} draw on it"
    own = battery.connected.self_discharge
    return [
        f"{num(battery.capacity, 0)} Ah, {num(battery.charge, 0)} % at the start",
        *_age(battery),
        drain,
        (
            f"it loses {num(own.low, 1)} to {num(own.high, 1)} % a month on its own at "
            "that temperature"
        ),
    ]


def _age(battery: BatteryRunway) -> Iterator[str]:
    """Said, not reckoned with: no source gives a figure for it."""
    if battery.since is not None:
        yield f"installed {day_words(battery.since)}, as if it still held all of that"


def _traps(ways: StayRunways, today: date) -> Iterator[RunwayCard]:
    found = ways.traps
    if found is None:
        return
    start = ways.stay.start
    early, late = _after(start, found.earliest), _after(start, found.latest)
    yield RunwayCard(
        key="traps",
        title="Drain traps",
        about=f"Fill them every {found.flush_every} days in this stay.",
        lines=[
            Line("Dry at the earliest", day_words(early), found.earliest.formula),
            Line("Dry at the latest", day_words(late), found.latest.formula),
        ],
        rests_on=[found.upper.source, found.lower.source],
        lasts=Lasting(
            start,
            early,
            late,
            f"may {'run' if early >= today else 'be'} dry from {day_words(early)}",
            f"full {month_day_words(start)}",
        ),
    )


def _after(start: date, days: Answer) -> date:
    return start + timedelta(days=min(int(days.value), FAR))


def _frost(ways: StayRunways) -> Iterator[RunwayCard]:
    risk, amount = ways.frost, ways.antifreeze
    if risk is None:
        return
    about = "It freezes there: drain the water, use antifreeze, or keep it warm."
    if not risk.freezes:
        about = "No frost is expected there."
    lines = []
    if amount is not None:
        told = f"{num(amount.least.value, 1)} to {num(amount.most.value, 1)} gal"
        lines.append(Line("Antifreeze to buy", told, amount.least.formula))
    yield RunwayCard(
        key="frost",
        title="Water and frost",
        about=about,
        lines=lines,
        rests_on=[risk.source],
        cautions=risk.cautions if risk.freezes else (),
    )


def _gas(ways: StayRunways) -> Iterator[RunwayCard]:
    hours = ways.propane
    if hours is None:
        return
    told = f"{num(hours.value, 0)} hours, {num(hours.value / 24, 1)} days"
    yield RunwayCard(
        key="propane",
        title="Propane",
        about="With the listed appliances on.",
        lines=[Line("It lasts", told, hours.formula)],
        rests_on=[hours.source],
        cautions=hours.cautions,
    )
