"""When and where a job of a trip is done, in words."""

from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from maintenance.core.triggers import FOLLOW_UPS
from maintenance.core.tripwork import TripJob
from maintenance.core.units import show
from maintenance.core.words import counted
from maintenance.plans.models import PlanItem
from maintenance.plans.rules import rules_in_words
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Trip

FINE = 200  # up to here a distance is told to the mile


def job_words(
    job: TripJob, trip: Trip, today: date, shop_wait: int | None
) -> tuple[str, str]:
    """By when at the latest, and what is behind it. `shop_wait`: days that a shop of
    the household usually takes; None for work of one's own."""
    start = max(trip.start, today)
    if job.place == "after":
        return "can wait", _after_words(job, trip)
    if job.place == "road" and (shop_wait is None or job.kind in FOLLOW_UPS):
        return _road_words(job, trip), _road_about(job, trip)
    return _before_when(job, start, today, shop_wait), _before_about(job, trip)


def _before_when(job: TripJob, start: date, today: date, shop_wait: int | None) -> str:
    last = start - timedelta(days=1)
    if job.closes is not None and job.closes < last:
        last = job.closes
    if job.standing == "overdue" or last <= today:
        return "today: overdue" if job.standing == "overdue" else "today"
    if shop_wait is not None:
        book = last - timedelta(days=shop_wait)
        if book <= today:
            return f"by {day_words(last)}; call a shop today"
        return f"by {day_words(last)}; call a shop by {day_words(book)}"
    return f"by {day_words(last)}"


def _before_about(job: TripJob, trip: Trip) -> str:
    if job.unknown:
        return (
            "We don't know when it was last done. Check it, or enter when it was done."
        )
    if job.standing == "overdue":
        return ""
    if job.closes is None:
        return "We expect it to be due."
    if job.closes < trip.start:
        return ""
    runs_out = _road_words(job, trip)
    if job.place == "road":
        return f"It would come due on the way: {runs_out}. It's a shop job."
    return f"It would run out on the way: {runs_out}."


def _road_words(job: TripJob, trip: Trip) -> str:
    """“855 to 950 mi on, about day 9 to 10 (18 to 19 May)”."""
    days = _days(job, trip)
    if job.by_mile is None:
        return days
    least = _mile(max(job.from_mile or Decimal(0), Decimal(0)), trip)
    most = _mile(job.by_mile, trip)
    if job.place == "before":
        return f"at about {most}, {days}"
    return f"between {least} and {most}, about {days}"


def _road_about(job: TripJob, trip: Trip) -> str:
    if job.standing == "due" or job.can_now:
        return "You can do it now: finish it before leaving if you can."
    return ""


def _after_words(job: TripJob, trip: Trip) -> str:
    since = ""
    if job.from_mile is not None and job.from_mile > 0:
        since = f"open from {_mile(job.from_mile, trip)} on"
    elif job.opens is not None:
        since = f"open from {day_words(job.opens)} on"
    if job.closes is None:
        return since
    closes = "closes about %(day)s" if job.by_mile else "closes %(day)s"
    return f"{since}, {closes % {'day': day_words(job.closes)}}"


def _days(job: TripJob, trip: Trip) -> str:
    """The latest day, and the which of the trip it is."""
    if job.closes is None:
        return ""
    number = (job.closes - trip.start).days + 1
    return f"day {number} ({day_words(job.closes)})"


def _mile(value: Decimal, trip: Trip) -> str:
    """A distance into the trip, no finer than it is known."""
    step = Decimal(1) if value <= FINE else Decimal(10)
    rounded = (value / step).quantize(Decimal(1), ROUND_HALF_UP) * step
    return show(rounded, trip.unit, places=0)


def again_words(job: TripJob, item: PlanItem) -> str:
    if not job.again:
        return ""
    times = counted(job.again, "more time on the way", "more times on the way")
    return f"{times} ({'; '.join(rules_in_words(item)).lower()})"
