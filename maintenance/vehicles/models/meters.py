"""Meters with their readings, fuel and severe duty."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from maintenance.households.models import Member

from .rigs import Rig

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise


class MeterKind(models.TextChoices):
    ODOMETER = "odometer", _("Odometer")
    ENGINE = "engine", _("Engine hours")
    GENERATOR = "generator", _("Generator hours")
    TOWED = "towed", _("Towed distance")


class MeterUnit(models.TextChoices):
    MILES = "mi", _("mi")
    KILOMETERS = "km", _("km")
    HOURS = "h", _("h")


HOUR_METERS = {MeterKind.ENGINE, MeterKind.GENERATOR}


def value_field(label: "StrOrPromise", **kwargs: Any) -> models.DecimalField:
    """A meter value: one decimal, up to 9,999,999.9."""
    return models.DecimalField(label, max_digits=8, decimal_places=1, **kwargs)


class Meter(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="meters")
    kind = models.CharField(_("meter"), max_length=9, choices=MeterKind.choices)
    unit = models.CharField(_("unit"), max_length=2, choices=MeterUnit.choices)
    in_service_value = value_field(_("value when in service"), null=True, blank=True)
    # Of towed distance: when a keeper said that a meter on the hub shows its readings.
    hub_confirmed_on = models.DateField(null=True, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["rig", "kind"], name="meter_once_per_rig")
        ]

    def __str__(self) -> str:
        return str(MeterKind(self.kind).label)


class MeterReplacement(models.Model):
    """A meter that was replaced or rolled over: the true value goes on."""

    meter = models.ForeignKey(
        Meter, on_delete=models.CASCADE, related_name="replacements"
    )
    on = models.DateField(_("on"))
    old_final = value_field(_("last value of the old meter"))
    new_start = value_field(_("first value of the new meter"), default=Decimal(0))

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.meter} replaced on {self.on}"


class Reading(models.Model):
    meter = models.ForeignKey(Meter, on_delete=models.CASCADE, related_name="readings")
    on = models.DateField(_("on"))
    value = value_field(_("value"))
    confirmed = models.BooleanField(default=False)
    # The event that it was given with; of its day it corrects no other reading.
    event = models.ForeignKey(
        "vehicles.Event",
        on_delete=models.SET_NULL,
        null=True,
        editable=False,
        related_name="readings",
    )
    # Renewed with the standings: the reckoning could not fit it with the others.
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
        return f"{self.value} {self.meter.unit} on {self.on}"


class VolumeUnit(models.TextChoices):
    GALLONS = "gal", _("gallons")
    LITERS = "L", _("liters")


class FuelStop(models.Model):
    """Fuel taken in at a reading of the odometer. It counts as long as that does."""

    reading = models.OneToOneField(
        Reading, on_delete=models.CASCADE, related_name="fuel"
    )
    volume = models.DecimalField(_("fuel taken in"), max_digits=8, decimal_places=3)
    unit = models.CharField(_("in"), max_length=3, choices=VolumeUnit.choices)
    price = models.DecimalField(
        _("price paid in all"), max_digits=10, decimal_places=2, null=True, blank=True
    )
    currency = models.CharField(max_length=3)
    full = models.BooleanField(_("filled up"), default=True)

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
        return f"{self.volume} {self.unit} on {self.reading.on}"


class SevereDuty(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="duty")
    start = models.DateField(_("from"))
    end = models.DateField(_("to"), null=True, blank=True)
    why = models.CharField(_("why"), max_length=120, blank=True)

    class Meta:
        ordering = ["start"]
        verbose_name_plural = "severe duty"

    def __str__(self) -> str:
        return f"severe duty from {self.start}"
