"""Alarms: how long one lives, by its label or, without one, by its kind."""

from datetime import date
from typing import Literal

from maintenance.core.dates import add_months, month_end

Kind = Literal["smoke", "co", "propane", "co_propane", "co_smoke"]

SMOKE_YEARS = 10  # NFPA 72: from manufacture, not from purchase
# Without a label: carbon monoxide, date code + 5 years (trade newsletter); propane, the
# common default. A combined alarm lives as long as its shorter part.
YEARS: dict[Kind, int] = {
    "smoke": SMOKE_YEARS,
    "co": 5,
    "propane": 5,
    "co_propane": 5,
    "co_smoke": 5,
}


def life_years(kind: Kind, label: int | None = None) -> int:
    """Years from manufacture: as the label says, a smoke sensor 10 at most."""
    years = YEARS[kind] if label is None else label
    return min(years, SMOKE_YEARS) if "smoke" in kind else years


def renew_by(kind: Kind, made: date, *, label: int | None = None) -> date:
    """The last day of the month in which an alarm is to be renewed."""
    return month_end(add_months(made, 12 * life_years(kind, label)))
