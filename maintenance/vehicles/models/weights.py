"""What a rig may weigh by its label, and what a scale said."""

from typing import Any

from django.db import models
from django.db.models import Q

from maintenance.ui.words import day_words


class WeightUnit(models.TextChoices):
    POUNDS = "lb", "lb"
    KILOGRAMS = "kg", "kg"


def weight_field(label: str, **kwargs: Any) -> models.DecimalField:
    """A weight with one decimal; what is plausible is for the services to say."""
    return models.DecimalField(label, max_digits=8, decimal_places=1, **kwargs)


class LabelKind(models.TextChoices):
    """“CCC” has had three meanings: the kind goes with the figure."""

    OCCC = "occc", "OCCC: people and cargo, motorhome, since June 2008"
    CCC = "ccc", "CCC: cargo, trailer, since June 2008"
    CCC_2000 = "ccc_2000", "CCC: industry label, September 2000 to 2008"
    NCC = "ncc", "NCC: industry label, 1996 to 2000"
    PLACARD = "placard", "Tow vehicle or car: people and cargo on the door"


class WeightLabel(models.Model):
    """Entered once from the maker's labels. `tires`: axle -> what one tire carries at
    the pressure that is kept in it, and that pressure in words."""

    rig = models.OneToOneField(
        "vehicles.Rig", on_delete=models.CASCADE, related_name="weight_label"
    )
    unit = models.CharField("all in", max_length=2, choices=WeightUnit.choices)
    gvwr = weight_field("GVWR: the most it may weigh", null=True, blank=True)
    gcwr = weight_field("GCWR: the most with what it tows", null=True, blank=True)
    kind = models.CharField(
        "kind of label", max_length=8, choices=LabelKind.choices, blank=True
    )
    capacity = weight_field("its figure", null=True, blank=True)
    on = models.DateField("date of the label", null=True, blank=True)
    uvw = weight_field("UVW: its weight unloaded", null=True, blank=True)
    seats = models.PositiveSmallIntegerField("seats with a belt", null=True, blank=True)
    tires = models.JSONField(default=dict, blank=True)
    passenger_tires = models.BooleanField(
        "its tires are passenger-car tires", default=False
    )

    def __str__(self) -> str:
        return f"labels of {self.rig}"


class ScaleTicket(models.Model):
    """One pass over a scale. `rig` is the vehicle that drives; `trailer` was coupled,
    and stood on the last platform with its axles alone."""

    rig = models.ForeignKey(
        "vehicles.Rig", on_delete=models.CASCADE, related_name="scale_tickets"
    )
    trailer = models.ForeignKey(
        "vehicles.Rig",
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="coupled_tickets",
        verbose_name="coupled with",
    )
    on = models.DateField("weighed on")
    place = models.CharField("where", max_length=80, blank=True)
    unit = models.CharField("all in", max_length=2, choices=WeightUnit.choices)
    steer = weight_field("steer axle")
    drive = weight_field("drive axle")
    tag = weight_field("tag axle", null=True, blank=True)
    behind = weight_field("axles of the trailer together", null=True, blank=True)
    note = models.CharField("how it was loaded", max_length=200, blank=True)

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(trailer__isnull=True, behind__isnull=True)
                | Q(trailer__isnull=False, behind__isnull=False),
                name="ticket_weighs_what_is_coupled",
            )
        ]

    def __str__(self) -> str:
        return f"scale ticket of {self.rig}, {day_words(self.on)}"
