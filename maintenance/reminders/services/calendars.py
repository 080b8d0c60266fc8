"""A person's calendar address: made, made anew, taken away."""

from datetime import datetime
from secrets import token_urlsafe

from django.db import transaction

from maintenance.households.activity import note_activity
from maintenance.households.models import Member

from ..models import CalendarFeed


@transaction.atomic
def keep_calendar(
    member: Member, *, now: datetime, shows: str, alarm_days: int | None
) -> CalendarFeed:
    """Make the person's calendar, or change what it shows; its address stays."""
    feed, new = CalendarFeed.objects.update_or_create(
        member=member,
        defaults={"shows": shows, "alarm_days": alarm_days},
        create_defaults={
            "shows": shows,
            "alarm_days": alarm_days,
            "secret": token_urlsafe(32),
            "made_at": now,
        },
    )
    if new:
        note_activity(member, "made a calendar address", member.name)
    return feed


@transaction.atomic
def make_address_anew(member: Member, *, now: datetime) -> None:
    """Whoever has the old address finds nothing there from now on. The entries keep
    their names, so that a calendar that takes the new address shows none twice."""
    CalendarFeed.objects.filter(member=member).update(
        secret=token_urlsafe(32), made_at=now
    )
    note_activity(member, "made a new calendar address", member.name)


@transaction.atomic
def end_calendar(member: Member) -> None:
    CalendarFeed.objects.filter(member=member).delete()
    note_activity(member, "ended calendar address", member.name)
