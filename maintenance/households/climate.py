"""What a household's seasons go by, and how cold it gets where its rigs stand."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction

from maintenance.core.seasons import seasons_around

from .access import require
from .models import (
    Household,
    Member,
    Role,
    SeasonsBy,
    month_day,
    month_day_text,
)
from .refusals import Refused
from .services import change_household

Months = Sequence[tuple[Decimal | None, Decimal | None]]

# name -> words, by what, first day, last day: starting points, to be changed at will
PRESETS = {
    "north_cold": ("North, long winters", "frost", "10-01", "05-10"),
    "north_mild": ("North, short winters", "frost", "11-20", "03-10"),
    "south_cold": ("South, frost from May", "frost", "05-01", "09-30"),
    "south_mild": (
        "South, frost in midwinter",
        "frost",
        "06-10",
        "08-20",
    ),
    "north_wet": (
        "No frost, wet from May to October",
        "rain",
        "05-15",
        "10-31",
    ),
    "south_wet": (
        "No frost, wet from November to April",
        "rain",
        "11-01",
        "04-15",
    ),
}


@transaction.atomic
def set_seasons(
    household: Household, *, by: Member, seasons_by: str, begins: str, ends: str
) -> None:
    """Spring and autumn by the usual first and last day (`MM-DD`) of frost or rain."""
    require(by, Role.KEEPER)
    if begins == ends:
        raise Refused(
            "It begins and ends on the same day. Enter two different days.",
            field="ends",
        )
    spring, autumn = seasons_around(month_day(begins), month_day(ends))
    household.seasons_by = SeasonsBy(seasons_by)
    household.cold_from, household.cold_to = begins, ends
    household.spring_from, household.spring_to = map(month_day_text, spring)
    household.autumn_from, household.autumn_to = map(month_day_text, autumn)
    change_household(household, by=by)


@transaction.atomic
def set_climate(household: Household, *, by: Member, months: Months) -> None:
    """The lowest and the usual temperature of each month, January first."""
    require(by, Role.KEEPER)
    for number, (lowest, usual) in enumerate(months, start=1):
        if lowest is not None and usual is not None and lowest > usual:
            raise Refused(
                "The lowest temperature is above the usual one. Check both.",
                field=f"lowest_{number}",
            )
    household.climate = [[_kept(low), _kept(usual)] for low, usual in months]
    household.climate_unit = household.temperature_unit
    household.save(update_fields=["climate", "climate_unit"])


def _kept(value: Decimal | None) -> str | None:
    return None if value is None else str(value)


def climate_of(household: Household) -> list[tuple[Decimal | None, Decimal | None]]:
    """Twelve pairs; None where a figure is not known."""
    rows = household.climate or [[None, None]] * 12
    return [(_figure(low), _figure(usual)) for low, usual in rows]


def _figure(value: str | None) -> Decimal | None:
    return None if value is None else Decimal(value)


def expected_between(
    household: Household, start: date, end: date
) -> tuple[Decimal | None, Decimal | None]:
    """The lowest temperature of the months of a span, and the usual one, the mean over
    its days; None where the figure of one of its months is not known."""
    climate = climate_of(household)
    days = max((end - start).days, 0) + 1
    months = [(start + timedelta(days=n)).month for n in range(min(days, 366))]
    lows = [climate[month - 1][0] for month in months]
    usual = [climate[month - 1][1] for month in months]
    lowest = None if None in lows else min(low for low in lows if low is not None)
    if None in usual:
        return lowest, None
    mean = sum((one for one in usual if one is not None), Decimal(0)) / len(usual)
    return lowest, mean.quantize(Decimal("0.1"))
