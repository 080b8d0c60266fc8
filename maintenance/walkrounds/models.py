"""Walk-arounds, zone by zone, with what each look showed and found; and what came of a
guide."""

import uuid

from django.db import models
from django.db.models import F, Q

from maintenance.findings.models import Finding, Photo
from maintenance.households.models import Household, Member
from maintenance.service_records.models import ServiceRecord
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig


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
        return f"walk-around of {self.rig} on {day_words(self.started_on)}"


class ZoneLook(models.Model):
    """What somebody saw in one zone. Looks are added, never changed: two people at one
    rig do not undo each other's words."""

    walkround = models.ForeignKey(
        WalkRound, on_delete=models.CASCADE, related_name="looks"
    )
    zone = models.SlugField(max_length=20)
    # Made with the form, so that the same form posted twice is one look.
    token = models.UUIDField(unique=True, editable=False)
    same = models.BooleanField("as last time")
    words = models.TextField("what has changed", max_length=2000, blank=True)
    on = models.DateField()
    kept_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    photos = models.ManyToManyField(Photo, related_name="looks")
    opened = models.ManyToManyField(
        Finding, through="LookFinding", related_name="opened_in"
    )

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


class LookFinding(models.Model):
    """A look that opened a finding."""

    look = models.ForeignKey(ZoneLook, on_delete=models.CASCADE, related_name="+")
    finding = models.OneToOneField(
        Finding, on_delete=models.CASCADE, related_name="look_link"
    )

    def __str__(self) -> str:
        return f"{self.look} found {self.finding}"


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
