"""What is not right yet, until work puts it right or somebody accepts it.

Above it, what found it and what put it right point down to it: lines of service records
and looks of a walk-around.
"""

import uuid

from django.db import models

from maintenance.households.models import Household, Member
from maintenance.plans.models import PlanItem
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig

from .zones import titles


class FindingState(models.TextChoices):
    OPEN = "open", "Something's wrong"
    PLANNED = "planned", "Planned"
    FIXED = "fixed", "It's fixed"
    ACCEPTED = "accepted", "Leave it as is"


class Severity(models.TextChoices):
    WATCH = "watch", "Keep an eye on it"
    SOON = "soon", "Fix it soon"
    TRIP = "trip", "Fix it before the next trip"


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
    what = models.CharField("what is not right", max_length=300)
    zone = models.SlugField("where", max_length=20, blank=True)
    severity = models.CharField(
        "how urgent",
        max_length=5,
        choices=Severity.choices,
        default=Severity.SOON,
    )
    unfit = models.BooleanField("unfit to travel until fixed", default=False)
    state = models.CharField(
        max_length=8, choices=FindingState.choices, default=FindingState.OPEN
    )
    found_on = models.DateField()
    # Planned: as an item of the plan, or as a line for the shop, or both.
    item = models.ForeignKey(
        PlanItem, on_delete=models.PROTECT, null=True, related_name="findings"
    )
    for_shop = models.BooleanField("for the shop", default=False)
    due_on = models.DateField("fix it by", null=True, blank=True)
    why_accepted = models.CharField(max_length=200, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    objects = FindingQuerySet.as_manager()

    class Meta:
        db_table = "walkrounds_finding"  # where it stood before it had an app
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


class Photo(models.Model):
    """Of a finding, or of what a look of a walk-around showed, or of both; always a
    JPEG. `stored` is a name nobody can guess, below the data."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="+")
    finding = models.ForeignKey(
        Finding, on_delete=models.CASCADE, null=True, related_name="photos"
    )
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    stored = models.CharField(max_length=80)
    sha256 = models.CharField(max_length=64)
    added_on = models.DateField()

    class Meta:
        db_table = "walkrounds_photo"  # where it stood before it had an app
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"photo of {self.rig} on {day_words(self.added_on)}"
