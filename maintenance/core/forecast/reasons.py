"""What a forecast rests on, as facts that the shell words."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from maintenance.core.facts import Fact, Unit
from maintenance.core.forecast.days import YEAR
from maintenance.core.forecast.learning import Learned

_FEW = 4  # readings


def reasons(
    days: Sequence[date],
    values: Sequence[Decimal],
    unit: Unit,
    learned: Learned | None,
) -> tuple[Fact, ...]:
    if not days:
        return (Fact("forecast_no_readings", {}),)
    facts = [_rests_on(days)]
    if len(days) < _FEW:
        facts.append(Fact("forecast_few_readings", {"readings": len(days)}))
    if learned is None:
        facts.append(Fact("forecast_no_use", {}))
    return tuple(facts)


def _rests_on(days: Sequence[date]) -> Fact:
    years = Decimal((days[-1] - days[0]).days) / Decimal(str(YEAR))
    return Fact(
        "forecast_rests_on",
        {"readings": len(days), "years": years.quantize(Decimal("0.1"))},
    )
