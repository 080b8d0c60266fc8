"""What came of the causes that guides end with."""

from django.db import models

from maintenance.households.models import Member
from maintenance.vehicles.models import Rig


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
        db_table = "walkrounds_troubleoutcome"
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.cause} of {self.rig} on {self.on}"
