"""Findings: what is not right yet, until a record fixes it or a keeper accepts it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from maintenance.households.models import Household, Member
from maintenance.service_records.models import RecordLine
from maintenance.vehicles.models import Rig


class FindingState(models.TextChoices):
    OPEN = "open", _("Open")
    PLANNED = "planned", _("Planned")
    FIXED = "fixed", _("Fixed")
    ACCEPTED = "accepted", _("Accepted")


class FindingQuerySet(models.QuerySet["Finding"]):
    def for_household(self, household: Household) -> "FindingQuerySet":
        return self.filter(rig__household=household, withdrawn=False)

    def not_right_yet(self) -> "FindingQuerySet":
        return self.filter(
            withdrawn=False, state__in=[FindingState.OPEN, FindingState.PLANNED]
        )


class Finding(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="findings")
    what = models.CharField(_("what is not right"), max_length=300)
    unfit = models.BooleanField(_("unfit to travel until put right"), default=False)
    state = models.CharField(
        max_length=8, choices=FindingState.choices, default=FindingState.OPEN
    )
    found_on = models.DateField()
    # The record line that found it, and the one that put it right.
    found_by_line = models.OneToOneField(
        RecordLine, on_delete=models.PROTECT, null=True, related_name="finding"
    )
    fixed_by_line = models.ForeignKey(
        RecordLine, on_delete=models.PROTECT, null=True, related_name="fixes"
    )
    why_accepted = models.CharField(max_length=200, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ["-unfit", "found_on", "pk"]

    def __str__(self) -> str:
        return self.what


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
