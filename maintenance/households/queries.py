"""Households whose day has come, wherever they are."""

from datetime import UTC, date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from django.utils import timezone

from .models import Household

# The farthest that a local day is ahead of UTC (Pacific/Kiritimati), and behind it.
EASTERNMOST = timedelta(hours=14)
WESTERNMOST = timedelta(hours=12)


def earliest_day(now: datetime) -> date:
    """The earliest day that it is anywhere."""
    return (now.astimezone(UTC) - WESTERNMOST).date()


def latest_day(now: datetime) -> date:
    """The latest day that it is anywhere."""
    return (now.astimezone(UTC) + EASTERNMOST).date()


def reckoned_ahead(now: datetime) -> list[int]:
    """Ids of the households whose standings were reckoned for a day that has not come
    yet by their own clock: the machine's was ahead, or they moved west."""
    rows = Household.objects.filter(reckoned_on__gt=earliest_day(now)).order_by("pk")
    return [
        pk
        for pk, zone, day in rows.values_list("pk", "timezone", "reckoned_on")
        if day is not None and day > timezone.localdate(now, ZoneInfo(zone))
    ]


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
