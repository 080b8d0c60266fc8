"""A person's calendar of windows (RFC 5545): which entries, since when each has been
as it is, and their text. Fetched twice with nothing changed, it is the same bytes."""

import uuid
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db.models import Q, QuerySet
from django.urls import reverse
from icalendar import Alarm, Calendar, Event

from maintenance.core.facts import MeterPoint
from maintenance.findings.models import Finding
from maintenance.findings.queries import unfit_findings
from maintenance.plans.models import Standing, StandingName
from maintenance.plans.queries import household_is_stale, standings_of
from maintenance.plans.rows import row_of
from maintenance.plans.standings import renew_household

from .mail import sender_domain
from .models import CalendarEntry, CalendarFeed

SHOWN = {
    "due": (StandingName.OVERDUE, StandingName.DUE),
    "coming": (StandingName.OVERDUE, StandingName.DUE, StandingName.SOON),
    "all": (
        StandingName.OVERDUE,
        StandingName.DUE,
        StandingName.SOON,
        StandingName.LATER,
    ),
}


# What an entry is about: ("item" or "finding", its number).
About = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Shown:
    """What an entry says; `end` is the last day, as people say it."""

    start: date
    end: date
    summary: str
    description: str


def publish(feed: CalendarFeed, *, now: datetime, today: date) -> bytes:
    """The calendar as text. Writes only where an entry has changed since the last
    time, so that its stamp is the moment of that change."""
    household = feed.member.household
    if household_is_stale(household, today):
        renew_household(household, as_of=today)
    rows = list(_rows(feed))
    wanted: dict[About, Shown] = {
        ("item", row.item_id): _shown(row, days, today, reads_in=feed.member.reads_in)
        for row in rows
        if (days := _days(row, today)) is not None
    }
    # One that became an item which warns by itself stands there once.
    warned = [row.item_id for row in rows if row.unfit]
    for finding in unfit_findings(household).exclude(item__in=warned):
        wanted["finding", finding.pk] = _shown_finding(finding, today)
    _keep(feed, wanted, now)
    entries = {_about(entry): entry for entry in feed.entries.all()}
    kept = [entries[about] for about in wanted if about in entries]
    return _text(feed, sorted(kept, key=lambda entry: (entry.start, entry.pk)))


def _about(entry: CalendarEntry) -> About:
    if entry.item_id is not None:
        return "item", entry.item_id
    return "finding", entry.finding_id or 0


def _rows(feed: CalendarFeed) -> QuerySet[Standing]:
    """The standings chosen, of the rigs that the person is told of; and what makes any
    rig unfit to travel."""
    rows = standings_of(feed.member.household).filter(standing__in=SHOWN[feed.shows])
    if feed.member.told_rigs is not None:
        rows = rows.filter(Q(item__rig__in=feed.member.told_rigs) | Q(unfit=True))
    return rows


def _days(standing: Standing, today: date) -> tuple[date, date] | None:
    """First and last day of the window, dates or likely ones; None without a day. What
    is overdue or makes the rig unfit stands on today until it is done."""
    if standing.unfit or standing.standing == StandingName.OVERDUE:
        return today, today
    days = [day for day in (standing.opens_on, standing.closes_on) if day is not None]
    return (min(days), days[-1]) if days else None


def _shown(
    standing: Standing, days: tuple[date, date], today: date, *, reads_in: str
) -> Shown:
    row = row_of(standing, today, reads_in=reads_in)
    overdue = row.standing == StandingName.OVERDUE
    likely = _by_meter(standing) and not row.unfit and not overdue
    short = row.item.short
    title = f"{row.rig}: {short}"
    if row.unfit:
        title = _unfit(row.rig, short)
    elif overdue:
        title = f"Overdue: {title}"
    words = [f"{row.title}."] if row.title != short else []
    words += [row.when[:1].upper() + row.when[1:]] if row.when else []
    words += ["The days are estimates, from how the rig is used."] if likely else []
    words += ["Safety job."] if row.safety else []
    words += [row.fitness] if row.fitness else []
    words += ["Unfit to travel until it's fixed."] if row.unfit else []
    return Shown(
        start=days[0],
        end=days[1],
        summary=f"{title} (likely)" if likely else title,
        description="\n".join(words),
    )


def _shown_finding(finding: Finding, today: date) -> Shown:
    return Shown(
        start=today,
        end=today,
        summary=_unfit(finding.rig.name, finding.what),
        description="Unfit to travel until it's fixed.",
    )


def _unfit(rig: str, what: str) -> str:
    return f"{rig} unfit to travel: {what}"


def _by_meter(standing: Standing) -> bool:
    window = standing.window
    ends = (window.opens, window.closes) if window else ()
    return any(isinstance(end, MeterPoint) for end in ends)


# --- what was published before --------------------------------------------------------


def _keep(feed: CalendarFeed, wanted: dict[About, Shown], now: datetime) -> None:
    """Of two fetches at once, one makes or changes an entry, the other finds it so."""
    now = now.replace(microsecond=0)
    known = {_about(entry): entry for entry in feed.entries.all()}
    new = [
        CalendarEntry(
            feed=feed,
            **{f"{kind}_id": pk},
            uid=f"{uuid.uuid4()}@{sender_domain()}",
            changed_at=now,
            **asdict(shown),
        )
        for (kind, pk), shown in wanted.items()
        if (kind, pk) not in known
    ]
    if new:
        CalendarEntry.objects.bulk_create(new, ignore_conflicts=True)
    for about, entry in known.items():
        if about in wanted and wanted[about] != _as_shown(entry):
            _change(entry, wanted[about], now)


def _as_shown(entry: CalendarEntry) -> Shown:
    return Shown(entry.start, entry.end, entry.summary, entry.description)


def _change(entry: CalendarEntry, shown: Shown, now: datetime) -> None:
    """RFC 5545, 3.8.7.4: the sequence rises when the days change."""
    moved = (entry.start, entry.end) != (shown.start, shown.end)
    same = CalendarEntry.objects.filter(
        pk=entry.pk, sequence=entry.sequence, changed_at=entry.changed_at
    )
    same.update(
        sequence=entry.sequence + moved,
        changed_at=max(now, entry.changed_at),
        **asdict(shown),
    )


# --- text -----------------------------------------------------------------------------


def _text(feed: CalendarFeed, entries: Iterable[CalendarEntry]) -> bytes:
    name = f"Rigsite: {feed.member.household}"
    calendar = Calendar()
    calendar.add("prodid", "-//Rigsite//Calendar//EN")
    calendar.add("version", "2.0")
    calendar.add("name", name)  # RFC 7986, 5.1
    calendar.add("x-wr-calname", name)  # what most programs read instead
    calendar.add(
        "refresh-interval", timedelta(hours=6), parameters={"VALUE": "DURATION"}
    )
    for entry in entries:
        calendar.add_component(_event(feed, entry))
    return calendar.to_ical()


def _event(feed: CalendarFeed, entry: CalendarEntry) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    # Without a METHOD this is when the entry last changed (RFC 5545, 3.8.7.2).
    event.add("dtstamp", entry.changed_at)
    event.add("last-modified", entry.changed_at)
    event.add("sequence", entry.sequence)
    event.add("dtstart", entry.start)
    # The end of an all-day event is the day after its last (RFC 5545, 3.6.1).
    event.add("dtend", entry.end + timedelta(days=1))
    event.add("summary", entry.summary)
    event.add("description", entry.description)
    event.add("transp", "TRANSPARENT")  # nobody is busy for a month of it
    if settings.PUBLIC_URL:
        kind, pk = _about(entry)
        event.add("url", settings.PUBLIC_URL + reverse(kind, args=[pk]))
    if feed.alarm_days is not None:
        event.add_component(_alarm(feed, entry))
    return event


def _alarm(feed: CalendarFeed, entry: CalendarEntry) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.summary)
    hour = timedelta(hours=feed.member.digest_hour)
    alarm.add("trigger", hour - timedelta(days=feed.alarm_days or 0))
    return alarm
