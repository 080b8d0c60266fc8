"""Meters with their readings, fuel and severe duty."""

from decimal import Decimal
from typing import Any

from django.db import models
from django.db.models import Q

from maintenance.households.models import Member
from maintenance.ui.words import day_words

from .rigs import Rig


class MeterKind(models.TextChoices):
    ODOMETER = "odometer", "Odometer"
    ENGINE = "engine", "Engine hours"
    GENERATOR = "generator", "Generator hours"
    TOWED = "towed", "Towed distance"


class MeterUnit(models.TextChoices):
    MILES = "mi", "mi"
    KILOMETERS = "km", "km"
    HOURS = "h", "h"


HOUR_METERS = {MeterKind.ENGINE, MeterKind.GENERATOR}


def value_field(label: str, **kwargs: Any) -> models.DecimalField:
    """A meter value: one decimal, up to 9,999,999.9."""
    return models.DecimalField(label, max_digits=8, decimal_places=1, **kwargs)


class Meter(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="meters")
    kind = models.CharField("meter", max_length=9, choices=MeterKind.choices)
    unit = models.CharField("unit", max_length=2, choices=MeterUnit.choices)
    in_service_value = value_field("value when in service", null=True, blank=True)
    # Of towed distance: when a keeper said that a meter on the hub shows its readings.
    hub_confirmed_on = models.DateField(null=True, editable=False)
    # Of generator hours: the sum of logged runs, until a meter is fitted.
    logged = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["rig", "kind"], name="meter_once_per_rig")
        ]

    def __str__(self) -> str:
        return str(MeterKind(self.kind).label)

    @property
    def by_runs(self) -> bool:
        """No meter shows these hours: they are logged."""
        return self.logged and not self.readings.filter(withdrawn=False).exists()

    @property
    def by_trips(self) -> bool:
        """No meter shows what this trailer was towed: trips and people tell it."""
        return (
            self.kind == MeterKind.TOWED
            and self.rig.is_trailer
            and self.hub_confirmed_on is None
            and not self.readings.filter(withdrawn=False).exists()
        )


class MeterReplacement(models.Model):
    """A meter that was replaced or rolled over: the true value goes on."""

    meter = models.ForeignKey(
        Meter, on_delete=models.CASCADE, related_name="replacements"
    )
    on = models.DateField("on")
    old_final = value_field("last value of the old meter")
    new_start = value_field("first value of the new meter", default=Decimal(0))
    withdrawn = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.meter} replaced on {day_words(self.on)}"


class Reading(models.Model):
    meter = models.ForeignKey(Meter, on_delete=models.CASCADE, related_name="readings")
    on = models.DateField("on")
    value = value_field("value")
    confirmed = models.BooleanField(default=False)
    # The event that it was given with; of its day it corrects no other reading.
    event = models.ForeignKey(
        "vehicles.Event",
        on_delete=models.SET_NULL,
        null=True,
        editable=False,
        related_name="readings",
    )
    # Whoever entered it does not know that it is right: it counts nowhere until it is
    # confirmed.
    questionable = models.BooleanField(default=False, editable=False)
    # Renewed with the standings: questionable, or the reckoning could not fit it with
    # the others.
    doubtful = models.BooleanField(default=False, editable=False)
    # Withdrawn: its record was voided, or it was taken back. Kept, never counted.
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]
        indexes = [models.Index(fields=["meter", "on"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(value__gte=0), name="reading_not_negative"
            )
        ]

    def __str__(self) -> str:
        return f"{self.value} {self.meter.unit} on {day_words(self.on)}"


class Run(models.Model):
    """Hours for which a generator without an hour meter ran on a day."""

    meter = models.ForeignKey(Meter, on_delete=models.CASCADE, related_name="runs")
    on = models.DateField("on")
    hours = value_field("hours run")
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(hours__gt=0) & Q(hours__lte=24), name="run_fits_a_day"
            )
        ]

    def __str__(self) -> str:
        return f"{self.hours} h on {day_words(self.on)}"


class VolumeUnit(models.TextChoices):
    GALLONS = "gal", "gallons"
    LITERS = "L", "liters"


class FuelStop(models.Model):
    """Fuel taken in at a reading of the odometer. It counts as long as that does."""

    reading = models.OneToOneField(
        Reading, on_delete=models.CASCADE, related_name="fuel"
    )
    volume = models.DecimalField("fuel taken in", max_digits=8, decimal_places=3)
    unit = models.CharField("in", max_length=3, choices=VolumeUnit.choices)
    price = models.DecimalField(
        "price paid in all", max_digits=10, decimal_places=2, null=True, blank=True
    )
    currency = models.CharField(max_length=3)
    full = models.BooleanField("filled up", default=True)

    class Meta:
        ordering = ["reading__on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(volume__gt=0), name="fuel_some"),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0),
                name="fuel_price_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.volume} {self.unit} on {day_words(self.reading.on)}"


class SevereDuty(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="duty")
    start = models.DateField("from")
    end = models.DateField("to", null=True, blank=True)
    why = models.CharField("why", max_length=120, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering = ["start"]
        verbose_name_plural = "severe duty"

    def __str__(self) -> str:
        return f"severe duty from {day_words(self.start)}"
