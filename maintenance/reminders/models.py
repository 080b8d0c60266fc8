"""Reasons to write to a person, and the mail that carries them."""

from django.db import models
from django.db.models import Q

from maintenance.core.clock import Look
from maintenance.findings.models import Finding
from maintenance.households.models import Household, Member
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig, Stay, Trip


class Stage(models.TextChoices):
    SAFETY = "safety", "Safety, at once"
    OVERDUE = "overdue", "Overdue"
    DUE = "due", "Due"
    BOOK = "book", "Book a shop"
    HEADS_UP = "heads_up", "Coming"
    WITHDRAWN = "withdrawn", "No longer applies"


class DigestState(models.TextChoices):
    QUEUED = "queued", "Waiting to be sent"
    SENDING = "sending", "Being sent"
    SENT = "sent", "Sent"
    IN_TRAY = "in_tray", "Kept here: no mail server"
    UNKNOWN = "unknown", "May have been sent; we'll send it again"
    REFUSED = "refused", "Refused by the mail server"
    EMPTY = "empty", "Not sent: nothing left to report"
    FOLDED = "folded", "Not sent: part of a later email"
    GIVEN_UP = "given_up", "Failed after several days"


# It reached the person, or may have.
WENT_OUT = (
    DigestState.SENDING,
    DigestState.SENT,
    DigestState.IN_TRAY,
    DigestState.UNKNOWN,
)
# It reached nobody for certain, or was tried for days; nothing more is done with it.
TOLD_NOBODY = (DigestState.REFUSED, DigestState.GIVEN_UP, DigestState.EMPTY)


class DigestQuerySet(models.QuerySet["Digest"]):
    def for_household(self, household: Household) -> "DigestQuerySet":
        return self.filter(member__household=household)


class Digest(models.Model):
    """One mail to one person. `key` makes it unique: the daily digest of a local day,
    or a safety mail of its notices.

    Its words are made when it goes out, and kept: whoever repeats it after an unknown
    outcome sends the same mail under the same Message-ID.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="digests")
    key = models.CharField(max_length=120, unique=True)
    day = models.DateField()
    state = models.CharField(
        max_length=8, choices=DigestState.choices, default=DigestState.QUEUED
    )
    to = models.EmailField()
    subject = models.CharField(max_length=200, blank=True)
    text = models.TextField(blank=True)
    html = models.TextField(blank=True)
    message_id = models.CharField(max_length=300)
    made_at = models.DateTimeField()
    written_at = models.DateTimeField(null=True, blank=True)
    # Claimed until then; a crash leaves it, and the sweep takes it up again.
    claimed_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    next_attempt_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    problem = models.TextField(blank=True)

    objects = DigestQuerySet.as_manager()

    class Meta:
        ordering = ["-day", "-pk"]
        indexes = [models.Index(fields=["state", "next_attempt_at"])]

    def __str__(self) -> str:
        return self.subject or self.key

    @property
    def is_daily(self) -> bool:
        return self.key.startswith("digest:")

    @property
    def is_about_clock(self) -> bool:
        return self.key.startswith("clock:")


class Notice(models.Model):
    """One reason to write: unique per item, cycle, stage and person. Gone when it was
    done before it went out. A safety notice that went out and whose event is withdrawn
    becomes one of the stage `withdrawn`, and waits for the next digest."""

    item = models.ForeignKey(PlanItem, on_delete=models.CASCADE, related_name="notices")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="notices")
    stage = models.CharField(max_length=9, choices=Stage.choices)
    cycle = models.CharField(max_length=80)
    raised_on = models.DateField()
    digest = models.ForeignKey(
        Digest, on_delete=models.SET_NULL, null=True, related_name="notices"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "member", "stage", "cycle"], name="notice_once"
            )
        ]
        indexes = [
            models.Index(
                fields=["member"],
                condition=Q(digest__isnull=True),
                name="notice_waits",
            )
        ]

    def __str__(self) -> str:
        return f"{self.stage}: {self.item}"


class FindingNotice(models.Model):
    """A finding that makes its rig unfit to travel, told to a person who may drive:
    `number` 0 at once, then 1, 2 … Gone when it is put right, so that it is told as new
    should it come back.

    `withdrawn`: it was told, and the finding was withdrawn since; it has no finding any
    more and waits for the next digest. An undone finding is gone: `rig` and `what` keep
    what was told."""

    finding = models.ForeignKey(
        Finding, on_delete=models.SET_NULL, null=True, related_name="notices"
    )
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, null=True, related_name="+")
    what = models.CharField(max_length=300, blank=True)
    withdrawn = models.BooleanField(default=False)
    member = models.ForeignKey(
        Member, on_delete=models.CASCADE, related_name="finding_notices"
    )
    number = models.PositiveSmallIntegerField(default=0)
    raised_on = models.DateField()
    digest = models.ForeignKey(
        Digest, on_delete=models.SET_NULL, null=True, related_name="finding_notices"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["finding", "member", "number"], name="finding_told_once"
            )
        ]

    def __str__(self) -> str:
        return f"unfit: {self.finding or self.what}"


class TripNotice(models.Model):
    """On the eve of a trip: a rig that travels is unfit. Told once to each person who
    may drive, for the day on which the trip was to start."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="notices")
    start = models.DateField()
    member = models.ForeignKey(
        Member, on_delete=models.CASCADE, related_name="trip_notices"
    )
    digest = models.ForeignKey(
        Digest, on_delete=models.SET_NULL, null=True, related_name="trip_notices"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["trip", "start", "member"], name="trip_told_once"
            )
        ]

    def __str__(self) -> str:
        return f"unfit before {self.trip}"


class StayQuestion(models.Model):
    """Asked of a person once: the stay was to end on that day; did it? Or, without a
    stay, of a rig of which nothing is known since `quiet_since`: is it parked?"""

    stay = models.ForeignKey(
        Stay, on_delete=models.CASCADE, null=True, related_name="questions"
    )
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, null=True, related_name="+")
    quiet_since = models.DateField(null=True)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="asked")
    planned_until = models.DateField(null=True)
    digest = models.ForeignKey(
        Digest, on_delete=models.SET_NULL, null=True, related_name="questions"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["stay", "member", "planned_until"], name="stay_asked_once"
            ),
            models.UniqueConstraint(
                fields=["rig", "member", "quiet_since"], name="parked_asked_once"
            ),
        ]

    def __str__(self) -> str:
        if self.stay is None:
            return f"{self.rig} is quiet since {self.quiet_since}"
        return f"{self.stay} was to end on {self.planned_until}"


class NoticeMark(models.Model):
    """The local day for which a household's notices were last raised, and up to when
    what its members did was looked at."""

    household = models.OneToOneField(
        Household, on_delete=models.CASCADE, related_name="notice_mark"
    )
    day = models.DateField()
    seen_until = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.household} on {self.day}"


class SweepMark(models.Model):
    """When a periodic job last came to its end; health tells by its age."""

    name = models.CharField(max_length=40, unique=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} at {self.at}"


class MachineClock(models.Model):
    """The last good look at the clock of a machine (`core/clock.py`), and what it
    showed when it no longer fitted: daily mail waits while `doubted_at` is set."""

    machine = models.CharField(max_length=100, unique=True)
    at = models.DateTimeField()
    boot = models.CharField(max_length=64, blank=True)
    up = models.FloatField()
    doubted_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.machine} at {self.at}"

    @property
    def last_good(self) -> Look:
        return Look(self.at, self.boot, self.up)


class HeldReminder(models.Model):
    """Until when a person wants no reminder of an item. The work stays where it is."""

    item = models.ForeignKey(PlanItem, on_delete=models.CASCADE, related_name="held")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="held")
    until = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "member"], name="held_once")
        ]

    def __str__(self) -> str:
        return f"{self.item} until {self.until}"


class CalendarFeed(models.Model):
    """A person's calendar. Its address is its own key: whoever has it may read."""

    class Shows(models.TextChoices):
        DUE = "due", "What's due or overdue"
        COMING = "coming", "What is due, overdue, or coming"
        ALL = "all", "Everything with a date"

    member = models.OneToOneField(
        Member, on_delete=models.CASCADE, related_name="calendar_feed"
    )
    secret = models.CharField(max_length=64, unique=True)
    shows = models.CharField(max_length=6, choices=Shows.choices, default=Shows.COMING)
    # So many days before the window opens; none: no alarm.
    alarm_days = models.PositiveSmallIntegerField(null=True, blank=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"calendar of {self.member}"


class CalendarEntry(models.Model):
    """A window, or a finding that makes a rig unfit to travel, as it was last
    published, and since when it has been so. It stays while it is not shown: should it
    come back, it is the same entry of a calendar."""

    feed = models.ForeignKey(
        CalendarFeed, on_delete=models.CASCADE, related_name="entries"
    )
    item = models.ForeignKey(
        PlanItem, on_delete=models.CASCADE, null=True, related_name="+"
    )
    finding = models.ForeignKey(
        Finding, on_delete=models.CASCADE, null=True, related_name="+"
    )
    uid = models.CharField(max_length=300)
    sequence = models.PositiveIntegerField(default=0)
    start = models.DateField()
    end = models.DateField()
    summary = models.CharField(max_length=400)
    description = models.TextField(blank=True)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["feed", "item"], name="calendar_entry_once"
            ),
            models.UniqueConstraint(
                fields=["feed", "finding"], name="calendar_finding_once"
            ),
            models.CheckConstraint(
                condition=Q(item__isnull=False) ^ Q(finding__isnull=False),
                name="calendar_entry_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return self.summary


class StoppedAddress(models.Model):
    """An address that a mail server refused for good: nothing more goes there until
    somebody says that it is mended."""

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="stopped_addresses"
    )
    address = models.EmailField()
    words = models.TextField()
    at = models.DateTimeField()

    class Meta:
        ordering = ["address"]
        constraints = [
            models.UniqueConstraint(
                fields=["household", "address"], name="address_stopped_once"
            )
        ]

    def __str__(self) -> str:
        return self.address


class AnsweredLink(models.Model):
    """A link of a mail that was used: its row lets nobody use it again. `key` is the
    digest of its token; the row goes once the link has expired anyway."""

    key = models.CharField(max_length=64, unique=True)
    member = models.ForeignKey(
        Member, on_delete=models.CASCADE, related_name="answered_links"
    )
    at = models.DateTimeField()
    what = models.CharField(max_length=300)
    expires_on = models.DateField(db_index=True)

    def __str__(self) -> str:
        return self.what
