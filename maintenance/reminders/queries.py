"""What the notices are reckoned from, as plain facts, and which mail waits."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, F, Max, Min, OuterRef, Q, QuerySet

from maintenance.core import facts
from maintenance.core.facts import kinds_within
from maintenance.core.notices import (
    FindingTold,
    ItemNow,
    Key,
    Person,
    Told,
    digest_day,
    digest_key,
)
from maintenance.core.triggers import FOLLOW_UPS, parse_triggers
from maintenance.households.models import ActivityEntry, Household, Member
from maintenance.plans.expected import silent_until
from maintenance.plans.models import (
    Completion,
    Deferral,
    Outcome,
    PlanItem,
    Standing,
    StandingName,
)
from maintenance.plans.queries import procedures_of, standings_of
from maintenance.vehicles.models import Event, Meter, MeterKind

from .models import (
    Digest,
    DigestState,
    FindingNotice,
    Notice,
    NoticeMark,
    Stage,
    StayQuestion,
    StoppedAddress,
    TripNotice,
)

# What of the notices never waits for the date to be confirmed.
URGENT = (
    Q(stage=Stage.SAFETY)
    | Q(stage__in=[Stage.DUE, Stage.OVERDUE], item__safety=True)
    | Q(stage=Stage.OVERDUE, item__standing__unfit=True)
)
# No pause and no claim is that long: the clock was ahead when it was noted.
AHEAD = timedelta(days=1)

MOVED = "moved-"  # in the lasting name of a check at which a fastener had turned

# --- who, and what was told -----------------------------------------------------------


def people_of(household: Household) -> list[Person]:
    """Whom to write to: members who are here, want mail and have an address."""
    members = reachable().filter(household=household).prefetch_related("held")
    return [person_of(member) for member in members.order_by("pk")]


def is_reachable(member: Member) -> bool:
    return reachable().filter(pk=member.pk).exists()


def reachable() -> QuerySet[Member]:
    """Members who are here, want mail and have an address that no server refused."""
    stopped = StoppedAddress.objects.filter(
        household=OuterRef("household"), address=OuterRef("user__email")
    )
    return Member.objects.with_mail().exclude(Exists(stopped))


def person_of(member: Member) -> Person:
    """What a member chose to be told of, and what they put off for themselves."""
    rigs = member.told_rigs
    return Person(
        member.pk,
        stages=frozenset(member.told_stages),
        # Whoever logs work is taken to drive; a viewer looks only.
        drives=member.may_log,
        rigs=None if rigs is None else frozenset(rigs),
        held={row.item_id: row.until for row in member.held.all()},
    )


def told_of(items: Iterable[ItemNow]) -> list[Told]:
    rows = Notice.objects.filter(item__in=[item.item for item in items])
    return [Told(key_of(row), row.raised_on) for row in rows.order_by("pk")]


def key_of(row: Notice) -> Key:
    return Key(row.item_id, row.cycle, row.stage, row.member_id)  # type: ignore[arg-type]


# --- findings -------------------------------------------------------------------------


def told_of_findings(household: Household) -> list[FindingTold]:
    rows = FindingNotice.objects.filter(member__household=household)
    return [
        FindingTold(row.finding_id, row.member_id, row.number, row.raised_on)
        for row in rows
        if row.finding_id is not None
    ]


# --- items as they stand --------------------------------------------------------------


def items_now(
    household: Household, *which: Q, today: date, **more: Any
) -> list[ItemNow]:
    """Plan items with their stored standings, in a fixed number of queries; `which` and
    `more` narrow the standings."""
    rows = list(standings_of(household).filter(*which, **more))
    silent = silent_until(rows, today)
    events = _open_events([row for row in rows if row.item.safety])
    held = _put_off(rows, today)
    procedures = procedures_of(household)
    return [
        ItemNow(
            item=row.item_id,
            rig=row.item.rig_id,
            standing=standing_as_fact(row),
            safety=row.item.safety,
            unfit_by=row.unfit_by,
            shop=row.item.key in procedures and procedures[row.item.key].by_shop,
            events=tuple(events[row.item_id]),
            held_until=held.get(row.item_id),
            silent_until=silent.get(row.item.rig_id),
        )
        for row in rows
    ]


def standing_as_fact(row: Standing) -> facts.Standing:
    """The stored standing as the core gave it, without the facts behind it."""
    return facts.Standing(
        key=row.result["key"],
        standing=row.result["standing"],
        governing=row.result["governing"],
        expected=row.result["expected"],
        window=row.window,
        pending=row.pending,
        forecast=row.forecast,
    )


def _put_off(rows: Iterable[Standing], today: date) -> dict[int, date]:
    """item id -> the day until which it is put off, or was: what was told before comes
    back on that day. Hanging on a meter it is the last day there is, until the meter
    shows the value."""
    put_off = Deferral.objects.filter(item__in=[row.item_id for row in rows])
    over = put_off.filter(ended=True).order_by("pk")
    days = {
        row.item_id: day
        for row in over
        if (day := row.until or row.ended_on) is not None and day <= today
    }
    for item, until in put_off.filter(ended=False).values_list("item", "until"):
        days[item] = until or date.max
    return days


def meter_of(item: PlanItem, meters: Iterable[Meter]) -> Meter | None:
    """Of its rig's meters the one that the item's rules count on, else the odometer."""
    known = {meter.kind: meter for meter in meters}
    return counted_on(item, known.values()) or known.get(MeterKind.ODOMETER)


def counted_on(item: PlanItem, meters: Iterable[Meter]) -> Meter | None:
    """Of its rig's meters the first that a rule of the item counts on."""
    known = {meter.kind: meter for meter in meters}
    if not item.rig.is_trailer:
        known.pop(MeterKind.TOWED, None)
    rules = parse_triggers(item.triggers, item.key)
    kinds = (getattr(rule, "meter", None) for rule in rules)
    return next((known[kind] for kind in kinds if kind in known), None)


# --- events whose follow-up is open ---------------------------------------------------


def _open_events(rows: Iterable[Standing]) -> dict[int, list[str]]:
    """item id -> a lasting name of each happening that its open follow-ups rest on."""
    open_rows = {row.item_id: row for row in rows if _open_places(row)}
    happened: dict[int, list[Event | Completion]] = defaultdict(list)
    rigs = {row.item.rig_id for row in open_rows.values()}
    events = defaultdict(list)
    if rigs:
        found = Event.objects.filter(rig__in=rigs, withdrawn=False)
        for event in found.order_by("on", "pk"):
            events[event.rig_id].append(event)
        for moved in _moved(open_rows):
            happened[moved.item_id].append(moved)
    names: dict[int, list[str]] = defaultdict(list)
    for pk, row in open_rows.items():
        # Of one day, events come before completions (sorting is stable).
        both = [*events[row.item.rig_id], *happened[pk]]
        names[pk] = _latest(row, sorted(both, key=lambda one: one.on))
    return names


def _moved(items: Iterable[int]) -> QuerySet[Completion]:
    """Checks at which a fastener had turned: they raise their event anew."""
    rows = Completion.objects.filter(item__in=items, withdrawn=False)
    return rows.filter(outcome=Outcome.MOVED).order_by("on", "pk")


def _open_places(row: Standing) -> set[str]:
    """The places at which a follow-up of the item is open; all while its event has no
    figure, so that its window is not known."""
    everywhere = set(row.item.rig.places)
    after = [one for one in row.pending if one.kind in FOLLOW_UPS]
    if not after and _after_kinds(row.item) and _without_figure(row):
        return everywhere
    return {place for one in after for place in one.places or everywhere}


def _without_figure(row: Standing) -> bool:
    by_event = row.governing in FOLLOW_UPS or row.standing == StandingName.UNKNOWN
    return by_event and row.window is None


def _after_kinds(item: PlanItem) -> list[str]:
    rules = parse_triggers(item.triggers, item.key)
    return [event for rule in rules if (event := rule.follows())]


def _latest(row: Standing, happened: list[Event | Completion]) -> list[str]:
    """Of each kind the last happening at each place that is open: a later one takes the
    stead of an earlier one at its places."""
    everywhere = set(row.item.rig.places)
    names = []
    for kind in _after_kinds(row.item):
        left = _open_places(row)
        for one in reversed(happened):
            if isinstance(one, Event) and (
                one.kind not in kinds_within(kind) or one.on < row.item.taken_on
            ):
                continue
            places = set(one.places or everywhere)
            if left & places:
                names.append(_name(one))
            left -= places
    return list(dict.fromkeys(names))


def _name(one: Event | Completion) -> str:
    return str(one.pk) if isinstance(one, Event) else f"{MOVED}{one.pk}"


def events_that_count(names: Iterable[str]) -> set[str]:
    """Of the happenings with these lasting names those that are not withdrawn."""
    moved = {name for name in names if name.startswith(MOVED)}
    events = Event.objects.filter(pk__in=set(names) - moved, withdrawn=False)
    checks = Completion.objects.filter(
        pk__in=[name.removeprefix(MOVED) for name in moved], withdrawn=False
    )
    return {*map(_name, events), *map(_name, checks)}


# --- what waits -----------------------------------------------------------------------


def active_since(since: datetime, now: datetime) -> QuerySet[Household]:
    """Households where somebody did something after their notices were raised; nothing
    older than `since` is looked at."""
    unseen = (
        Q(household__notice_mark=None)
        | Q(at__gte=F("household__notice_mark__seen_until"))
        | Q(household__notice_mark__seen_until__gt=now)  # the clock was set back
    )
    did = ActivityEntry.objects.filter(unseen, at__gte=since).order_by()
    return Household.objects.filter(pk__in=did.values("household"))


def waiting_of(household: Household) -> QuerySet[Notice]:
    """Notices that no mail carries yet."""
    rows = Notice.objects.filter(member__household=household)
    return rows.filter(digest__isnull=True).order_by("pk")


def reachable_and_waited_for() -> QuerySet[Member]:
    """Members for whom there is something that no mail carries yet."""
    waiting = Notice.objects.filter(digest__isnull=True).order_by()
    asked = StayQuestion.objects.filter(digest__isnull=True)
    found = FindingNotice.objects.filter(digest__isnull=True)
    trips = TripNotice.objects.filter(digest__isnull=True)
    waits = Q()
    for rows in (waiting, asked, found, trips):
        waits |= Q(pk__in=rows.values("member"))
    members = reachable().filter(waits)
    return members.select_related("household", "user").order_by("pk")


def members_to_tell(now: datetime) -> list[tuple[Member, date]]:
    """Members for whom something waits and whose hour has come, each with their day,
    but for those who had their mail of that day."""
    due = {
        digest_key(member.pk, day): (member, day)
        for member in reachable_and_waited_for()
        if (day := _day_due(member, now)) is not None
    }
    had = Digest.objects.filter(key__in=due).values_list("key", flat=True)
    return [due[key] for key in due.keys() - set(had)]


def _day_due(member: Member, now: datetime) -> date | None:
    return digest_day(
        now,
        member.household.timezone,
        member.digest_hour,
        frozenset(member.quiet_days),
    )


def digests_to_send(now: datetime) -> QuerySet[Digest]:
    """Mail that is to go out now: new, to be repeated, or left by a crash."""
    waits = Q(state__in=[DigestState.QUEUED, DigestState.UNKNOWN])
    due = Q(next_attempt_at__isnull=True) | Q(next_attempt_at__lte=now)
    due |= Q(next_attempt_at__gt=now + AHEAD)
    over = Q(claimed_until__lte=now) | Q(claimed_until__gt=now + AHEAD)
    stuck = Q(state=DigestState.SENDING) & over
    return Digest.objects.filter(waits & due | stuck).order_by("pk")


def mail_of(member: Member) -> QuerySet[Digest]:
    """All mail to a person, the newest first."""
    return Digest.objects.filter(member=member).select_related("member__user")


def mail_known_to(member: Member) -> QuerySet[Digest]:
    """The mail of which a person may know that it was sent: their own, and for a keeper
    that of the whole household."""
    if not member.is_keeper:
        return mail_of(member)
    rows = Digest.objects.for_household(member.household)
    return rows.select_related("member__user")


def last_mark(household: Household) -> NoticeMark | None:
    return NoticeMark.objects.filter(household=household).first()


def oldest_waiting() -> tuple[int, datetime | None]:
    """How many mails wait to be sent, and since when the oldest one."""
    waits = [DigestState.QUEUED, DigestState.SENDING, DigestState.UNKNOWN]
    found = Digest.objects.filter(state__in=waits).aggregate(
        count=Count("pk"), oldest=Min("made_at")
    )
    return found["count"], found["oldest"]


def last_sent_at() -> datetime | None:
    found: datetime | None = Digest.objects.aggregate(at=Max("sent_at"))["at"]
    return found
