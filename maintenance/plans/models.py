"""The plan of a rig: items with their rules, completions, deferrals and standings."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from maintenance.core.facts import MeterPoint, Point
from maintenance.households.models import Household, Member
from maintenance.vehicles.models import MeterKind, Rig, value_field


class Outcome(models.TextChoices):
    DONE = "done", _("Done")
    SERVICEABLE = "serviceable", _("Looked at, serviceable")
    HELD = "held", _("Checked, held")
    MOVED = "moved", _("Checked, a fastener had moved")
    FAULT_FOUND = "fault_found", _("Fault found")
    NOT_DONE = "not_done", _("Not done")


COMPLETING = {Outcome.DONE, Outcome.SERVICEABLE, Outcome.HELD, Outcome.MOVED}


class BaselineKind(models.TextChoices):
    NONE = "none", _("Nothing known")
    IN_SERVICE = "in_service", _("Counted from the day the rig entered service")
    STATED = "stated", _("Done before, as stated")


class StandingName(models.TextChoices):
    OVERDUE = "overdue", _("Overdue")
    DUE = "due", _("Due")
    SOON = "soon", _("Coming")
    LATER = "later", _("Later")
    WAITING = "waiting", _("Waiting")
    UNKNOWN = "unknown", _("No record yet")
    SETTLED = "settled", _("Finished")


class PlanItemQuerySet(models.QuerySet["PlanItem"]):
    def for_household(self, household: Household) -> "PlanItemQuerySet":
        return self.filter(rig__household=household)

    def active(self) -> "PlanItemQuerySet":
        """Items still on the plan of a rig that is still kept."""
        return self.filter(dropped_on__isnull=True, rig__sold_on__isnull=True)


class PlanItem(models.Model):
    """A procedure taken on by a rig. `triggers` has the form of a case file."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="plan_items")
    key = models.SlugField(max_length=60)
    title = models.CharField(_("title"), max_length=120)
    system = models.SlugField(max_length=30)
    triggers = models.JSONField(default=list)
    safety = models.BooleanField(default=False)
    unfit = models.BooleanField(
        _("overdue, it makes the rig unfit to travel"), default=False
    )
    anchored = models.BooleanField(default=False)
    once = models.BooleanField(default=False)
    baseline = models.CharField(
        max_length=10, choices=BaselineKind.choices, default=BaselineKind.NONE
    )
    baseline_on = models.DateField(null=True, blank=True)
    baseline_values = models.JSONField(default=dict, blank=True)
    taken_on = models.DateField(_("taken on"))
    dropped_on = models.DateField(null=True, blank=True)
    why_dropped = models.CharField(max_length=200, blank=True)

    objects = PlanItemQuerySet.as_manager()

    class Meta:
        ordering = ["system", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "key"], name="plan_item_once_per_rig"
            ),
            models.CheckConstraint(
                condition=~Q(baseline="stated") | Q(baseline_on__isnull=False),
                name="stated_baseline_has_day",
            ),
        ]

    def __str__(self) -> str:
        return self.title


class Completion(models.Model):
    """An item's work done; a record line points here. Withdrawn ones count no more."""

    item = models.ForeignKey(
        PlanItem, on_delete=models.CASCADE, related_name="completions"
    )
    on = models.DateField(_("on"))
    until = models.DateField(_("until"), null=True, blank=True)
    values = models.JSONField(default=dict, blank=True)  # meter kind -> "42310.0"
    outcome = models.CharField(max_length=11, choices=Outcome.choices)
    places = models.JSONField(null=True, blank=True)  # None: all places
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]
        indexes = [models.Index(fields=["item", "on"])]

    def __str__(self) -> str:
        return f"{self.item}: {self.outcome} on {self.on}"


class Deferral(models.Model):
    """Put off until a day or a reading, with the reason. The standing stays."""

    item = models.ForeignKey(
        PlanItem, on_delete=models.CASCADE, related_name="deferrals"
    )
    until = models.DateField(_("until"), null=True, blank=True)
    until_value = value_field(_("until the meter shows"), null=True, blank=True)
    until_meter = models.CharField(max_length=9, choices=MeterKind.choices, blank=True)
    why = models.CharField(_("why"), max_length=200)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    ended = models.BooleanField(default=False)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=False, until_value__isnull=True)
                | Q(until__isnull=True, until_value__isnull=False),
                name="deferral_has_one_end",
            ),
            models.UniqueConstraint(
                fields=["item"], condition=Q(ended=False), name="one_deferral_per_item"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} deferred"

    @property
    def point(self) -> Point:
        """Until when, as the core takes it."""
        return self.until or MeterPoint(self.until_meter, self.until_value)


class Standing(models.Model):
    """Where an item stands, as reckoned on `as_of`; never written by hand.

    `result` is the item of `manage.py reckon`'s output without its sentences; `why`
    holds the facts behind it as [key, values]. The columns beside it are what lists
    sort and filter on.
    """

    item = models.OneToOneField(
        PlanItem, on_delete=models.CASCADE, related_name="standing"
    )
    as_of = models.DateField()
    standing = models.CharField(max_length=8, choices=StandingName.choices)
    unfit = models.BooleanField(default=False)
    expected = models.BooleanField(default=False)
    governing = models.CharField(max_length=16, blank=True)
    opens_on = models.DateField(null=True)  # by its date, else its likely date
    closes_on = models.DateField(null=True)
    rank = models.PositiveSmallIntegerField(default=99)  # order on Due
    result = models.JSONField(default=dict)
    why = models.JSONField(default=list)

    class Meta:
        indexes = [
            models.Index(fields=["rank", "closes_on"]),
            models.Index(fields=["standing", "opens_on"]),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.standing}"
