"""Calendar steps, seasons, and the days that a rig is not in a stay."""

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from maintenance.core.facts import Span, Stay, Trip

MonthDay = tuple[int, int]
DAY = timedelta(days=1)


def add_months(day: date, months: int) -> date:
    """The same day of a later month, clamped to its end (31 Jan + 1 = 28 or 29 Feb)."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return day_of_year(year, (month + 1, day.day))


def add_span(day: date, span: Span) -> date:
    """Calendar months first, then days."""
    return add_months(day, span.months) + timedelta(days=span.days)


def day_of_year(year: int, month_day: MonthDay) -> date:
    """That day of the year, clamped to the end of its month (29 Feb)."""
    month, day = month_day
    return date(year, month, min(day, monthrange(year, month)[1]))


def month_end(day: date) -> date:
    return day_of_year(day.year, (day.month, 31))


def season_of(year: int, ends: tuple[MonthDay, MonthDay]) -> tuple[date, date]:
    """First and last day of the season that opens in `year`; it may cross New Year."""
    opens, closes = ends
    return (
        day_of_year(year, opens),
        day_of_year(year if closes >= opens else year + 1, closes),
    )


def latest_season(day: date, ends: tuple[MonthDay, MonthDay]) -> tuple[date, date]:
    """The season of this kind that opened last, on or before `day`."""
    this_year = season_of(day.year, ends)
    return this_year if this_year[0] <= day else season_of(day.year - 1, ends)


def stay_end(stay: Stay, as_of: date) -> date | None:
    """The actual or planned end; None when unknown.

    A planned end that has passed while the stay is still open is void.
    """
    if stay.until is not None:
        return stay.until
    planned = stay.planned_until
    return planned if planned is not None and planned >= as_of else None


def without_overlaps(
    stays: Iterable[Stay], trips: Iterable[Trip], as_of: date
) -> tuple[Stay, ...]:
    """The stays by their first day, each that nobody ended ending where something began
    after it: another stay, or a trip. One that ends on the day a stay begins led to it.
    """
    found = sorted(stays, key=lambda stay: stay.start)
    begun = [trip for trip in trips if trip.start <= as_of]
    ended = []
    for n, stay in enumerate(found):
        after = [one.start for one in found[n + 1 :] if one.start <= as_of]
        after += [
            trip.start
            for trip in begun
            if stay.start <= trip.start and stay.start < trip.end
        ]
        left = min(after) if stay.until is None and after else stay.until
        ended.append(replace(stay, until=left))
    return tuple(ended)


class InUse:
    """Counts the days that lie in no stay.

    A stay's days run from its first day up to, not including, its last; a stay without
    a known end never ends.
    """

    def __init__(self, stays: Iterable[Stay], as_of: date) -> None:
        spans = sorted(
            (stay.start, stay_end(stay, as_of) or date.max) for stay in stays
        )
        self._stays: list[tuple[date, date]] = []
        for span in spans:
            if self._stays and span[0] <= self._stays[-1][1]:
                start, end = self._stays.pop()
                self._stays.append((start, max(end, span[1])))
            else:
                self._stays.append(span)

    def days(self, start: date, end: date) -> int:
        """Days in use from `start` up to, not including, `end`."""
        found = (end - start).days
        for begin, stop in self._stays:
            if begin >= end:
                break
            found -= max(0, (min(stop, end) - max(begin, start)).days)
        return found

    def back(self, day: date, days: int) -> date:
        """The last day from which there are that many days in use up to `day`."""
        at = day - timedelta(days=days)
        while (missing := days - self.days(at, day)) > 0:
            at -= timedelta(days=missing)
        return at

    def add(self, day: date, days: int) -> date | None:
        """The first day with that many days in use behind it since `day`.

        None when a stay that does not end comes before.
        """
        at = day
        for begin, stop in self._stays:
            if stop <= at:
                continue
            free = max(0, (begin - at).days)
            if free >= days:
                break
            if stop == date.max:
                return None
            days -= free
            at = stop
        return at + timedelta(days=days)
