"""Households whose day has come, wherever they are."""

from datetime import UTC, date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from django.utils import timezone

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
    zones: dict[str, date] = {}
    found = []
    for pk, zone, day in rows.order_by("pk").values_list("pk", "timezone", column):
        if zone not in zones:
            zones[zone] = timezone.localdate(now, ZoneInfo(zone))
        if day <= zones[zone]:
            found.append(pk)
    return found
