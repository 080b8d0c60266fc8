"""What is kept of work that goes on."""

from django.db import models

from maintenance.households.models import Member
from maintenance.plans.models import PlanItem


class SheetEntry(models.Model):
    """A tick, a measured value or a note of work that is not recorded yet.

    `field` is the field of the work sheet. One row each, so that two people at one rig
    do not undo each other's ticks.
    """

    item = models.ForeignKey(PlanItem, on_delete=models.CASCADE, related_name="sheet")
    field = models.SlugField(max_length=80)
    value = models.TextField()
    kept_at = models.DateTimeField()
    kept_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        db_table = "plans_sheetentry"
        ordering = ["pk"]
        verbose_name_plural = "sheet entries"
        constraints = [
            models.UniqueConstraint(fields=["item", "field"], name="sheet_field_once")
        ]

    def __str__(self) -> str:
        return f"{self.field} of {self.item}"
