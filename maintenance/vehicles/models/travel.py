"""Trips, and what happened to a rig."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from maintenance.households.models import DistanceUnit, Member
from maintenance.ui.words import day_span_words, day_words

from .meters import Reading, VolumeUnit, value_field
from .rigs import Rig
from .weights import WeightUnit


class TripQuerySet(models.QuerySet["Trip"]):
    def of(self, rig: Rig) -> "TripQuerySet":
        """Those that the rig has any part in; withdrawn ones left out."""
        mine = Q(rig=rig) | Q(tow_vehicle=rig) | Q(towed_car=rig)
        return self.filter(mine, withdrawn=False)


class Trip(models.Model):
    """Travel of a rig, planned or past; of a trailer, with the vehicle that tows.

    `towed_car` rolls behind on its own wheels; the owner says whether its odometer
    counts then. The odometer figures are those of the vehicle that drives.
    """

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="trips")
    tow_vehicle = models.ForeignKey(
        Rig,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="tows",
        verbose_name="towed by",
    )
    towed_car = models.ForeignKey(
        Rig,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="towed_on",
        verbose_name="car towed behind",
    )
    towed_car_counts = models.BooleanField(
        "its odometer counts while it is towed", default=False
    )
    start = models.DateField("from")
    end = models.DateField("to")
    distance = value_field("distance", null=True, blank=True)
    unit = models.CharField(
        "unit",
        max_length=2,
        choices=DistanceUnit.choices,
        default=DistanceUnit.MILES,
    )
    hitched_at = value_field("odometer at the start", null=True, blank=True)
    unhitched_at = value_field("odometer at the end", null=True, blank=True)
    # Of what lies between them, in the odometer's unit.
    off = value_field("driven unhitched", null=True, blank=True)
    # What those figures have given the meter; renewed when they change.
    start_reading = models.OneToOneField(
        Reading, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    end_reading = models.OneToOneField(
        Reading, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    origin = models.CharField("from where", max_length=80, blank=True)
    title = models.CharField("where to", max_length=80, blank=True)
    people = models.PositiveSmallIntegerField("people", null=True, blank=True)
    water = models.DecimalField(
        "fresh water", max_digits=6, decimal_places=1, null=True, blank=True
    )
    water_unit = models.CharField(
        max_length=3, choices=VolumeUnit.choices, default=VolumeUnit.GALLONS
    )
    cargo = models.DecimalField(
        "cargo", max_digits=7, decimal_places=1, null=True, blank=True
    )
    cargo_unit = models.CharField(
        max_length=2, choices=WeightUnit.choices, default=WeightUnit.POUNDS
    )
    # The day on which somebody said how it went.
    told_on = models.DateField(null=True, editable=False)
    withdrawn = models.BooleanField(default=False, editable=False)  # called off
    # Only a distance that somebody told; on the days of a trip it is that one's so far.
    by_hand = models.BooleanField(default=False, editable=False)

    objects = TripQuerySet.as_manager()

    class Meta:
        ordering = ["-start"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end__gte=F("start")), name="trip_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return self.title or f"trip from {day_words(self.start)}"

    @property
    def driver(self) -> Rig | None:
        """The vehicle that drives, and whose odometer the figures are of."""
        return self.tow_vehicle if self.rig.is_trailer else self.rig

    @property
    def travelers(self) -> list[Rig]:
        """Every rig that is on the way."""
        found = (self.rig, self.tow_vehicle, self.towed_car)
        return [one for one in found if one is not None]

    @property
    def reading_ids(self) -> list[int]:
        """Of the readings that its odometer figures have given."""
        found = (self.start_reading_id, self.end_reading_id)
        return [pk for pk in found if pk is not None]

    @property
    def odometer_span(self) -> tuple[Decimal, Decimal] | None:
        """Both figures of the odometer; None where one is missing or questionable."""
        if self.hitched_at is None or self.unhitched_at is None:
            return None
        readings = (self.start_reading, self.end_reading)
        if any(one is not None and one.questionable for one in readings):
            return None
        return self.hitched_at, self.unhitched_at

    @property
    def nights(self) -> int:
        return (self.end - self.start).days


class NotTowed(models.Model):
    """Somebody said on a day that the rig was not towed since another."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="not_towed")
    said_on = models.DateField("said on")
    since = models.DateField("not towed since")
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["said_on", "pk"]
        verbose_name_plural = "not towed"
        constraints = [
            models.CheckConstraint(
                condition=Q(since__lte=F("said_on")), name="not_towed_since_before"
            )
        ]

    def __str__(self) -> str:
        return f"not towed, {day_span_words(self.since, self.said_on)}"


class Event(models.Model):
    """Something that happened to a rig and that raises follow-ups."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField("what happened", max_length=24)
    on = models.DateField("on")
    values = models.JSONField(default=dict, blank=True)  # meter kind -> "42310.0"
    places = models.JSONField(null=True, blank=True)  # None: all places
    note = models.CharField("note", max_length=200, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.kind} on {day_words(self.on)}"
