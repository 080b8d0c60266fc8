"""What was raised by a clock that was ahead, once it is right again: what was so anyway
stays told, the rest is told when its day comes."""

from datetime import date, timedelta

from django.db.models import Q

from maintenance.households.models import Household

from ..models import FindingNotice, Notice, NoticeMark, StayQuestion
from .digests import drop_untrue

# A household that moves west, or a clock a day ahead, is no reason to tell twice.
SLACK = timedelta(days=1)


def take_back_ahead(
    household: Household, mark: NoticeMark | None, *, today: date
) -> None:
    """`mark`: the day for which the household's notices were last raised."""
    latest = today + SLACK
    if mark is None or mark.day <= latest:
        return
    rows = Notice.objects.filter(member__household=household, raised_on__gt=latest)
    rows.filter(cycle__contains="#").delete()  # repeats that are not due yet
    for member in household.members.all():
        drop_untrue(rows.filter(member=member), member, today=today)
    rows.update(raised_on=today)
    found = FindingNotice.objects.filter(member__household=household)
    found.filter(raised_on__gt=latest, number__gt=0).delete()
    found.filter(raised_on__gt=latest).update(raised_on=today)
    asked = StayQuestion.objects.filter(member__household=household)
    asked.filter(Q(planned_until__gt=today) | Q(quiet_since__gt=today)).delete()
