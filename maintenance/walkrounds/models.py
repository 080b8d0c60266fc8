"""Walk-rounds, zone by zone, and findings: what is not right yet, until a record fixes
it or it is accepted."""

import uuid

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from maintenance.households.models import Household, Member
from maintenance.plans.models import PlanItem
from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.vehicles.models import Rig

from .zones import titles


class WalkRoundQuerySet(models.QuerySet["WalkRound"]):
    def for_household(self, household: Household) -> "WalkRoundQuerySet":
        return self.filter(rig__household=household)

    def unfinished(self) -> "WalkRoundQuerySet":
        return self.filter(finished_on__isnull=True, rig__sold_on__isnull=True)


class WalkRound(models.Model):
    """A hands-on look at a rig. Left in between, it waits until somebody goes on."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="walkrounds")
    # Names it in a browser's own storage, and its record.
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    started_on = models.DateField()
    started_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    finished_on = models.DateField(null=True, blank=True)
    finished_by = models.ForeignKey(
        Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    record = models.ForeignKey(
        ServiceRecord, on_delete=models.PROTECT, null=True, related_name="walkrounds"
    )

    objects = WalkRoundQuerySet.as_manager()

    class Meta:
        ordering = ["-started_on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig"],
                condition=Q(finished_on__isnull=True),
                name="one_unfinished_walkround_per_rig",
            ),
            models.CheckConstraint(
                condition=Q(finished_on__isnull=True)
                | Q(finished_on__gte=F("started_on")),
                name="walkround_finished_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"walk-round of {self.rig} on {self.started_on}"


class ZoneLook(models.Model):
    """What somebody saw in one zone. Looks are added, never changed: two people at one
    rig do not undo each other's words."""

    walkround = models.ForeignKey(
        WalkRound, on_delete=models.CASCADE, related_name="looks"
    )
    zone = models.SlugField(max_length=20)
    # Made with the form, so that the same form posted twice is one look.
    token = models.UUIDField(unique=True, editable=False)
    same = models.BooleanField(_("as last time"))
    words = models.TextField(_("what has changed"), max_length=2000, blank=True)
    on = models.DateField()
    kept_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["walkround", "zone"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(same=False) | Q(words=""), name="same_look_has_no_words"
            )
        ]

    def __str__(self) -> str:
        return f"{self.zone}: {self.words or 'as last time'}"


class FindingState(models.TextChoices):
    OPEN = "open", _("Open")
    PLANNED = "planned", _("Planned")
    FIXED = "fixed", _("Fixed")
    ACCEPTED = "accepted", _("Accepted")


class Severity(models.TextChoices):
    WATCH = "watch", _("Keep an eye on it")
    SOON = "soon", _("Put right soon")
    TRIP = "trip", _("Put right before the next trip")


class FindingQuerySet(models.QuerySet["Finding"]):
    def for_household(self, household: Household) -> "FindingQuerySet":
        return self.filter(rig__household=household, withdrawn=False)

    def not_right_yet(self) -> "FindingQuerySet":
        return self.filter(
            withdrawn=False, state__in=[FindingState.OPEN, FindingState.PLANNED]
        )

    def asking_themselves(self) -> "FindingQuerySet":
        """Those that no item of the plan asks for in their place."""
        return self.exclude(
            unfit=False, item__isnull=False, item__dropped_on__isnull=True
        )


class Finding(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="findings")
    # Made with the form; None: found by a record, or by a look, which have their own.
    token = models.UUIDField(unique=True, null=True, editable=False)
    what = models.CharField(_("what is not right"), max_length=300)
    zone = models.SlugField(_("where"), max_length=20, blank=True)
    severity = models.CharField(
        _("how urgent"),
        max_length=5,
        choices=Severity.choices,
        default=Severity.SOON,
    )
    unfit = models.BooleanField(_("unfit to travel until put right"), default=False)
    state = models.CharField(
        max_length=8, choices=FindingState.choices, default=FindingState.OPEN
    )
    found_on = models.DateField()
    # The record line that found it, and the one that put it right.
    found_by_line = models.OneToOneField(
        RecordLine, on_delete=models.PROTECT, null=True, related_name="finding"
    )
    found_by_look = models.ForeignKey(
        ZoneLook, on_delete=models.SET_NULL, null=True, related_name="opened"
    )
    fixed_by_line = models.ForeignKey(
        RecordLine, on_delete=models.PROTECT, null=True, related_name="fixes"
    )
    # Planned: as an item of the plan, or as a line for the shop, or both.
    item = models.ForeignKey(
        PlanItem, on_delete=models.PROTECT, null=True, related_name="findings"
    )
    for_shop = models.BooleanField(_("for the shop"), default=False)
    due_on = models.DateField(_("to be put right by"), null=True, blank=True)
    why_accepted = models.CharField(max_length=200, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ["-unfit", "found_on", "pk"]
        indexes = [models.Index(fields=["rig", "state"])]

    def __str__(self) -> str:
        return self.what

    @property
    def place(self) -> str:
        """The zone in words, or nothing."""
        return titles().get(self.zone, "")

    @property
    def is_open(self) -> bool:
        return self.state in {FindingState.OPEN, FindingState.PLANNED}


class Sighting(models.Model):
    """A finding that a later look saw again: it is not found twice."""

    finding = models.ForeignKey(
        Finding, on_delete=models.CASCADE, related_name="sightings"
    )
    look = models.ForeignKey(
        ZoneLook, on_delete=models.CASCADE, related_name="sightings"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["finding", "look"], name="seen_once_per_look"
            )
        ]

    def __str__(self) -> str:
        return f"{self.finding} seen again"


class Photo(models.Model):
    """Of a zone, of a finding, or of both; always a JPEG. `stored` is a name nobody can
    guess, below the data."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="+")
    look = models.ForeignKey(
        ZoneLook, on_delete=models.CASCADE, null=True, related_name="photos"
    )
    finding = models.ForeignKey(
        Finding, on_delete=models.CASCADE, null=True, related_name="photos"
    )
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    stored = models.CharField(max_length=80)
    sha256 = models.CharField(max_length=64)
    added_on = models.DateField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(look__isnull=False) | Q(finding__isnull=False),
                name="photo_shows_something",
            )
        ]

    def __str__(self) -> str:
        return f"photo of {self.rig} on {self.added_on}"


class TroubleOutcome(models.Model):
    """What came of a cause that a guide ended with, so that it is said next time."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="outcomes")
    guide = models.SlugField(max_length=40)
    cause = models.SlugField(max_length=40)
    was_it = models.BooleanField()
    path = models.CharField(max_length=600, blank=True)
    on = models.DateField()
    told_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.cause} of {self.rig} on {self.on}"
