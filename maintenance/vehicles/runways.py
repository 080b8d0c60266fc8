"""How long things last in a stay: what is kept of it, given to the bench.

Each answer is an estimate that names what it rests on. Without a figure there is no
runway, never a guessed one; only the charge at the start is taken as full until it is
read, and says so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Any

from maintenance.core.calculators import antifreeze, drains, propane
from maintenance.core.calculators.answers import Answer, CalculatorError, limits, num
from maintenance.core.calculators.batteries import (
    Kind,
    charge_from_gravity,
    charge_from_volts,
)
from maintenance.core.calculators.loads import (
    LOADS,
    NO_DRAIN,
    Drain,
    measured,
    sum_loads,
)
from maintenance.core.calculators.runway import Days, Runway, battery_runway
from maintenance.core.units import UnitError, convert, parse_number

from .models import BatteryCare, RunwaySetting, Stay, StayVisit, WaterKept

WHICH = ("chassis", "house")
# What calls for work in a stay. Which work that is, the library says.
RUNWAYS = ("lead_battery", "lithium_battery", "traps", "frost")
LEAD, LITHIUM, TRAPS, FROST = RUNWAYS
HUMIDITY = 50  # percent, our assumption where none is given
FULL = Decimal(100)
_CHARGE = limits("The charge", "0", "100", "%")
_GRAVITY = limits("The gravity", "1.0", "1.35")


def charge_of(text: str, kind: Kind) -> Decimal:
    """Percent from `12.6 V` at rest, `1.255` (gravity) or `85 %`.

    `BenchError`, fit for a user, for anything else and for volts of LiFePO4.
    """
    plain = text.strip()
    try:
        if plain.endswith("%"):
            return _CHARGE.check(parse_number(plain[:-1].strip()))
        given = parse_number(plain.upper().removesuffix("V").strip())
    except UnitError as error:
        raise CalculatorError(str(error)) from None
    if given < 2:
        _GRAVITY.check(given)
        if kind != "flooded":
            raise CalculatorError(
                "Only flooded batteries have gravity readings: enter volts."
            )
        return charge_from_gravity(given).value
    return charge_from_volts(given, kind).value


@dataclass(frozen=True, slots=True)
class BatteryRunway:
    """A battery in a stay: as it is connected, and what disconnecting it would give.

    `start` is the day of the reading that it counts from, or of the stay's start.
    """

    which: str
    kind: Kind
    capacity: Decimal
    start: date
    charge: Decimal
    read: str  # as it was read; empty: taken as full
    since: date | None  # when it was installed
    drain: Drain
    connected: Runway
    disconnected: Runway
    care: str

    @property
    def now(self) -> Runway | None:
        """The one that holds in this stay; None: it is kept charged."""
        if self.care == BatteryCare.CHARGED:
            return None
        off = self.care == BatteryCare.DISCONNECTED
        return self.disconnected if off else self.connected

    def day(self, days: Answer | None) -> date | None:
        """The day that lies so many days on; None: never, or not within ten years."""
        if days is None or days.value > 3650:
            return None
        return self.start + timedelta(days=int(days.value))


@dataclass(frozen=True)
class StayRunways:
    """The runways of one stay, each None where its figures are not known."""

    stay: Stay
    setting: RunwaySetting
    visits: tuple[StayVisit, ...]

    @cached_property
    def batteries(self) -> tuple[BatteryRunway, ...]:
        found = (self.battery(which) for which in WHICH)
        return tuple(one for one in found if one is not None)

    @cached_property
    def traps(self) -> drains.DryOut | None:
        """None where no temperature is given, and where nothing stands in them."""
        if self.stay.usual is None or self.stay.winterized:
            return None
        # colder, they freeze and do not dry up
        warm = max(Decimal(0), in_unit(self.stay.usual, self.stay, "°C"))
        humidity = HUMIDITY if self.stay.humidity is None else self.stay.humidity
        return drains.dry_out(warm, humidity, seal=seal_mm(self.setting))

    @cached_property
    def frost(self) -> antifreeze.FrostRisk | None:
        cold = fahrenheit(self.stay, self.stay.lowest)
        return None if cold is None else antifreeze.frost_risk(cold)

    @cached_property
    def antifreeze(self) -> antifreeze.Amount | None:
        """What to buy where it freezes and the lines are to be filled."""
        if self.stay.water not in {"", WaterKept.ANTIFREEZE, WaterKept.NOTHING}:
            return None
        if self.frost is None or not self.frost.freezes:
            return None
        return antifreeze.amount(
            heater=self.setting.heater,
            bypassed=self.setting.heater_bypassed,
            traps=self.setting.traps,
        )

    @cached_property
    def propane(self) -> Answer | None:
        """Hours, where appliances are listed; in most stays it is closed."""
        if not self.setting.propane or not self.setting.burns:
            return None
        burning = [
            propane.Appliance(one["name"], Decimal(one["btu"]), Decimal(one["duty"]))
            for one in self.setting.burns
        ]
        return propane.hours_left(propane.heat_of_pounds(self.setting.propane), burning)

    def battery(self, which: str) -> BatteryRunway | None:
        setting, usual = self.setting, fahrenheit(self.stay, self.stay.usual)
        capacity: Decimal | None = getattr(setting, f"{which}_capacity")
        if capacity is None or usual is None:
            return None
        kind: Kind = getattr(setting, f"{which}_kind")
        cold = fahrenheit(self.stay, self.stay.lowest)
        start, charge, read = self._state(which, kind)
        drain = drain_of(setting, which)

        def runway(drawn: Drain) -> Runway:
            return battery_runway(
                capacity,
                kind,
                charge=charge,
                drain=drawn,
                usual_temperature=usual,
                lowest_temperature=usual if cold is None else cold,
            )

        return BatteryRunway(
            which=which,
            kind=kind,
            capacity=capacity,
            start=start,
            charge=charge,
            read=read,
            since=getattr(setting, f"{which}_since"),
            drain=drain,
            connected=runway(drain),
            disconnected=runway(NO_DRAIN),
            care=self.stay.batteries,
        )

    def _state(self, which: str, kind: Kind) -> tuple[date, Decimal, str]:
        """From when it counts, and its charge then: by the last reading."""
        for visit in reversed(self.visits):
            if text := getattr(visit, which):
                return visit.on, charge_of(text, kind), text
        return self.stay.start, FULL, ""

    def rhythm(self) -> dict[str, dict[str, Any]]:
        """Which of them calls for its work by when, as `Stay.rhythm` keeps it.

        Traps go by their earliest day. A battery goes by the likely day on which it
        is to be recharged: the early one supposes the worst that was published of
        self-discharge, and would call for a visit to a good battery every few weeks.
        """
        found: dict[str, dict[str, Any]] = {}
        if self.traps is not None:
            found[TRAPS] = {"days": self.traps.flush_every}
        for battery in self.batteries:
            name = LITHIUM if battery.kind == "lifepo4" else LEAD
            asked = self._asked(battery)
            if asked is not None:
                found[name] = _sooner(found.get(name), asked)
        return found

    def _asked(self, battery: BatteryRunway) -> dict[str, Any] | None:
        runway, full = battery.now, self._from_full(battery)
        if runway is None:
            return None
        days = _whole(runway.recharge)
        if not battery.read or battery.start <= self.stay.start:
            return None if days is None else {"days": days}
        asked: dict[str, Any] = {"days": full if full is not None else 3650}
        if days is not None:
            asked |= {"read_on": battery.start.isoformat(), "read_days": days}
        return asked

    def _from_full(self, battery: BatteryRunway) -> int | None:
        """Days from full: what a charge gives, whatever was read before it."""
        usual = fahrenheit(self.stay, self.stay.usual)
        if usual is None:
            return None
        off = self.stay.batteries == BatteryCare.DISCONNECTED
        runway = battery_runway(
            battery.capacity,
            battery.kind,
            charge=FULL,
            drain=NO_DRAIN if off else battery.drain,
            usual_temperature=usual,
            lowest_temperature=usual,
        )
        return _whole(runway.recharge)


def _whole(days: Days) -> int | None:
    return None if days.likely is None else min(int(days.likely.value), 3650)


def _sooner(first: dict[str, Any] | None, second: dict[str, Any]) -> dict[str, Any]:
    """Of two batteries of one sort, the one that is to be seen to first."""
    if first is None:
        return second
    return min(first, second, key=lambda asked: asked.get("read_days", asked["days"]))


def runways_of(stay: Stay) -> StayRunways:
    """In two queries. A rig without settings has those of a new one."""
    setting = RunwaySetting.objects.filter(rig=stay.rig_id).first()
    visits = stay.visits.all() if stay.pk else ()
    return StayRunways(stay, setting or RunwaySetting(rig=stay.rig), tuple(visits))


def drain_of(setting: RunwaySetting, which: str) -> Drain:
    """One measured figure, else what is listed for this battery."""
    amps = getattr(setting, f"{which}_drain")
    if amps is not None:
        return measured(amps)
    return sum_loads(
        (LOADS[key], Decimal(entry["part"]))
        for key, entry in listed_drains(setting, which)
    )


def listed_drains(
    setting: RunwaySetting, which: str
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for key, entry in setting.drains.items():
        if entry["battery"] == which and key in LOADS:
            yield key, entry


def in_unit(value: Decimal, stay: Stay, unit: str) -> Decimal:
    return convert(value, stay.temperature_unit, unit)


def fahrenheit(stay: Stay, value: Decimal | None) -> Decimal | None:
    """As the bench takes it, to a tenth."""
    if value is None:
        return None
    return in_unit(value, stay, "°F").quantize(Decimal("0.1"))


def seal_mm(setting: RunwaySetting) -> Decimal:
    return convert(Decimal(setting.seal), setting.seal_unit, "mm")


def amps_words(drain: Drain) -> str:
    if drain.low == drain.high:
        return f"{num(drain.typical, 3)} A"
    return f"{num(drain.low, 3)} to {num(drain.high, 3)} A"
