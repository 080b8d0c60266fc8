"""Households whose day has come, wherever they are."""

from datetime import UTC, date, datetime, timedelta
from typing import Literal

from .models import Household

# The farthest that a local day is ahead of UTC (Pacific/Kiritimati).
EASTERNMOST = timedelta(hours=14)


def latest_day(now: datetime) -> date:
    """The latest day that it is anywhere."""
    return (now.astimezone(UTC) + EASTERNMOST).date()


def whose_day_has_come(
    column: Literal["next_change_on", "next_notice_on"], now: datetime
) -> list[int]:
    """Ids of the households that are past this day of theirs by their own clock.

    One query by the column's index: its cost grows with what is found.
    """
    rows = Household.objects.filter(**{f"{column}__lte": latest_day(now)})
    return [
        household.pk
        for household in rows.only("pk", "timezone", column).order_by("pk")
        if getattr(household, column) <= household.today(now)
    ]
