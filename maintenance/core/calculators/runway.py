"""How long a battery lasts while a rig stands.

Days from the state at the start to a recharge point, to half, to empty and to the
charge at which it freezes; each early, likely and late by drains and self-discharge.
"""

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import Answer, Figure, limits, num
from maintenance.core.calculators.batteries import (
    CAUTIONS,
    RECHARGE_AT,
    Kind,
    charge_from_volts,
    charge_that_freezes,
)
from maintenance.core.calculators.loads import Drain

MONTH = Decimal(30)  # days, as the published rates mean it
REFERENCE = Decimal(77)  # °F (25 °C)
STORE_LITHIUM_AT = Decimal(50)  # percent; makers' pages say 40 to 100

# percent a month at 77 °F: flooded, LiFePO4 by pages read (3 to 20 and 2 to 3), AGM
# from memory
SELF_DISCHARGE: Mapping[Kind, Drain] = {
    "flooded": Drain(Decimal(3), Decimal(5), Decimal(20)),
    "agm": Drain(Decimal(1), Decimal(2), Decimal(3)),
    "lifepo4": Drain(Decimal(2), Decimal(3), Decimal(3)),
}
_CAPACITY = limits("The capacity", "1", "2000", "Ah")
_CHARGE = limits("The charge", "0", "100", "%")
_AMPS = limits("The drain", "0", "500", "A")
_SELF = limits("The self-discharge", "0", "100", "% a month")
_WARM = limits("The temperature", "-60", "150", "°F")
RESTS_ON = (
    "An estimate: a steady drain, a healthy battery, one usual temperature. The first "
    "voltage you read at rest is worth more."
)


@dataclass(frozen=True, slots=True)
class Days:
    """Days until a threshold; None: never by these figures."""

    threshold: Decimal  # percent
    early: Answer | None
    likely: Answer | None
    late: Answer | None


@dataclass(frozen=True, slots=True)
class Runway:
    """`recharge`: to 12.4 V for lead-acid, to 50 % for LiFePO4.

    `freezing` is None where no charge of it freezes at the place's lowest temperature
    (and for LiFePO4, whose cells the table does not cover).
    """

    recharge: Days
    half: Days
    empty: Days
    freezing: Days | None
    self_discharge: Drain  # percent a month at the usual temperature
    cautions: tuple[str, ...]


def self_discharge_at(percent: Figure, temperature: Figure) -> Answer:
    """Self-discharge in % a month at `temperature` °F, given that at 77 °F.

    It doubles per 18 °F (10 °C): a battery article. `BenchError` beyond the spans.
    """
    base, warm = _SELF.check(percent), _WARM.check(temperature)
    value = base * Decimal(2) ** ((warm - REFERENCE) / 18)
    return Answer(
        value,
        "% a month",
        f"{num(base)} · 2^(({num(warm, 1)} - 77) ÷ 18) = {num(value)} % a month",
        "Doubles per 10 °C (18 °F), a battery article.",
    )


def days_to(
    capacity: Figure,
    *,
    start: Figure,
    end: Figure,
    drain: Figure,
    self_discharge: Figure,
) -> Answer | None:
    """Days from `start` to `end` percent.

    C · (S0 - S1) / 100 / (24 · I + C · s / 100 / 30), with C in Ah, the steady drain I
    in A and s in percent a month of 30 days. 0 where the start is at or below the end;
    None where nothing draws on it. `BenchError` beyond the spans.
    """
    c, amps = _CAPACITY.check(capacity), _AMPS.check(drain)
    first, last = _CHARGE.check(start), _CHARGE.check(end)
    # the doubling rule may carry a rate beyond what a user would be let enter
    monthly = limits("The self-discharge", "0", "2000", "% a month").check(
        self_discharge
    )
    usable = max(Decimal(0), c * (first - last) / 100)
    daily = 24 * amps + c * monthly / 100 / MONTH
    if usable and not daily:
        return None
    value = usable / daily if usable else Decimal(0)
    return Answer(
        value,
        "d",
        f"{num(c)} Ah · ({num(first)} % - {num(last)} %) ÷ (24 · {num(amps, 3)} A"
        f" + {num(c)} Ah · {num(monthly)} % ÷ 30) = {num(value, 1)} d",
        "Arithmetic on the published rates.",
        RESTS_ON,
    )


def battery_runway(
    capacity: Figure,
    kind: Kind,
    *,
    charge: Figure,
    drain: Drain,
    usual_temperature: Figure,
    lowest_temperature: Figure,
    self_discharge: Drain | None = None,
) -> Runway:
    """How long a battery of `capacity` Ah lasts from `charge` percent.

    Early goes by the higher drain and self-discharge, late by the lower. Temperatures
    in °F (-60 to 150). `self_discharge` in % a month at 77 °F, else by `kind`. With
    `NO_DRAIN` it tells what disconnecting gains. `BenchError` beyond the spans.
    """
    rates = _rates(self_discharge or SELF_DISCHARGE[kind], usual_temperature)

    pairs = tuple(zip(astuple(drain), astuple(rates), strict=True))

    def days(end: Decimal) -> Days:
        low, typical, high = (
            days_to(capacity, start=charge, end=end, drain=amps, self_discharge=rate)
            for amps, rate in pairs
        )
        return Days(end, high, typical, low)

    cold = _WARM.check(lowest_temperature)
    freezes = Decimal(0) if kind == "lifepo4" else charge_that_freezes(cold)
    return Runway(
        recharge=days(recharge_charge(kind)),
        half=days(Decimal(50)),
        empty=days(Decimal(0)),
        freezing=days(freezes) if freezes else None,
        self_discharge=rates,
        cautions=CAUTIONS[kind],
    )


def recharge_charge(kind: Kind) -> Decimal:
    """The charge in percent at which to recharge: 12.4 V at rest, LiFePO4 50 %."""
    if kind == "lifepo4":
        return STORE_LITHIUM_AT
    return charge_from_volts(RECHARGE_AT, kind).value


def _rates(at_reference: Drain, temperature: Figure) -> Drain:
    low, typical, high = (
        self_discharge_at(rate, temperature).value
        for rate in (at_reference.low, at_reference.typical, at_reference.high)
    )
    return Drain(low, typical, high)
