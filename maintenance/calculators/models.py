"""Figures that somebody reckoned and kept for a rig."""

from urllib.parse import urlencode

from django.db import models

from maintenance.households.models import Household, Member
from maintenance.vehicles.models import Rig


class KeptFigureQuerySet(models.QuerySet["KeptFigure"]):
    def for_household(self, household: Household) -> "KeptFigureQuerySet":
        return self.filter(rig__household=household)


class KeptFigure(models.Model):
    """What was typed and what came of it, in the words of that day."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="figures")
    calculator = models.SlugField(max_length=40)
    title = models.CharField("title", max_length=120)
    typed = models.JSONField(default=dict)  # field -> as typed
    lines = models.JSONField(default=list)  # [[what, figure], …]
    note = models.CharField("note", max_length=200, blank=True)
    kept_on = models.DateField()
    kept_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    objects = KeptFigureQuerySet.as_manager()

    class Meta:
        ordering = ["title", "-kept_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.title} of {self.rig}"

    @property
    def query(self) -> str:
        """What was typed, as an address takes it."""
        return urlencode(self.typed)
