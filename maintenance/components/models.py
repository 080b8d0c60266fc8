"""Components: parts with a life of their own, where they are and where they were."""

from collections.abc import Mapping
from typing import Any

from django.db import models
from django.db.models import F, Q

from maintenance.core.calculators import extinguishers
from maintenance.households.models import Household, Member
from maintenance.ui.words import day_words
from maintenance.vehicles.models import WHEEL_PLACES, Rig


class ComponentKind(models.TextChoices):
    TIRE = "tire", "Tire"
    BATTERY = "battery", "Battery"
    CYLINDER = "cylinder", "Propane cylinder or tank"
    EXTINGUISHER = "extinguisher", "Fire extinguisher"
    ALARM = "alarm", "Alarm"
    HOSE = "hose", "Propane hose"
    REGULATOR = "regulator", "Propane regulator"
    WATER_HEATER = "water_heater", "Water heater"
    OTHER = "other", "Another part"


class Mark(models.TextChoices):
    """The last requalification mark on a cylinder's collar, 49 CFR 180.213."""

    NEW = "new", "None yet: the date of making alone"
    VOLUMETRIC = "volumetric", "A date without a letter (volumetric test)"
    S = "S", "A date with S (proof pressure test)"
    E = "E", "A date with E (looked at from outside)"


BATTERY_TYPES = {
    "house": "House battery",
    "chassis": "Chassis battery",
    "breakaway": "Breakaway battery",
}
ALARM_TYPES = {
    "smoke": "Smoke alarm",
    "co": "Carbon monoxide alarm",
    "propane": "Propane alarm",
    "co_propane": "Carbon monoxide and propane alarm",
    "co_smoke": "Carbon monoxide and smoke alarm",
}
CYLINDER_TYPES = {
    "dot": "Portable cylinder (DOT)",
    "asme": "Tank built into the rig (ASME)",
}
SPOKEN_TYPES = {**BATTERY_TYPES, **ALARM_TYPES, **CYLINDER_TYPES}
# Kind -> its types, where it has any, in words.
TYPES: dict[str, Mapping[str, Any]] = {
    ComponentKind.BATTERY: BATTERY_TYPES,
    ComponentKind.ALARM: ALARM_TYPES,
    ComponentKind.CYLINDER: CYLINDER_TYPES,
    ComponentKind.EXTINGUISHER: {
        key: rules.words for key, rules in extinguishers.KINDS.items()
    },
}

SPARE = "SPARE"
TIRE_PLACES = {**WHEEL_PLACES, SPARE: "spare"}


class ComponentQuerySet(models.QuerySet["Component"]):
    def for_household(self, household: Household) -> "ComponentQuerySet":
        return self.filter(household=household)

    def in_service(self) -> "ComponentQuerySet":
        """Fitted or put aside; what was scrapped is left out."""
        return self.filter(scrapped_on__isnull=True)


class Component(models.Model):
    """`rig` and `place` are those of its open fitting; no rig: put aside or scrapped.

    Days of making and of tests are as known: a day, or a month (`2019-05`) where no
    more is stamped. A tire's `serial` is its whole number (TIN), its `made` the Sunday
    on which its week began.
    """

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="components"
    )
    rig = models.ForeignKey(
        Rig, on_delete=models.PROTECT, null=True, related_name="components"
    )
    kind = models.CharField("kind", max_length=12, choices=ComponentKind.choices)
    type = models.CharField("type", max_length=20, blank=True)
    name = models.CharField("name", max_length=60, blank=True)
    place = models.CharField("place on the rig", max_length=40, blank=True)
    maker = models.CharField("maker and model", max_length=80, blank=True)
    serial = models.CharField("serial number", max_length=40, blank=True)
    made = models.CharField("made", max_length=10, blank=True)
    label_years = models.PositiveSmallIntegerField(
        "life by its label, in years", null=True, blank=True
    )
    mark = models.CharField(
        "last mark", max_length=10, choices=Mark.choices, default=Mark.NEW
    )
    tested = models.CharField("last tested", max_length=10, blank=True)
    recharged = models.CharField("last recharged", max_length=10, blank=True)
    service = models.CharField("load index and speed", max_length=12, blank=True)
    load_range = models.CharField("load range", max_length=1, blank=True)
    passenger = models.BooleanField("a passenger-car tire", default=False)
    notes = models.TextField("notes", blank=True)
    scrapped_on = models.DateField(null=True, blank=True)
    why_scrapped = models.CharField(max_length=200, blank=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    objects = ComponentQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "place", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "place"],
                condition=Q(kind="tire") & ~Q(place=""),
                name="one_tire_at_a_place",
            ),
            models.CheckConstraint(
                condition=Q(scrapped_on__isnull=True) | Q(rig__isnull=True),
                name="scrapped_is_on_no_rig",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}, {self.place_words}" if self.place else self.what

    @property
    def what(self) -> str:
        kind = SPOKEN_TYPES.get(self.type, ComponentKind(self.kind).label)
        return self.name or str(kind)

    @property
    def place_words(self) -> str:
        if self.kind == ComponentKind.TIRE and self.place in TIRE_PLACES:
            return TIRE_PLACES[self.place]
        return self.place


class Fitting(models.Model):
    """A span in which a component was at one place of one rig, with the readings of the
    rig's meters on both days as far as they are known."""

    component = models.ForeignKey(
        Component, on_delete=models.CASCADE, related_name="fittings"
    )
    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="fittings")
    place = models.CharField(max_length=40, blank=True)
    start = models.DateField()
    start_values = models.JSONField(default=dict, blank=True)
    end = models.DateField(null=True, blank=True)
    end_values = models.JSONField(default=dict, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["start", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["component"],
                condition=Q(end__isnull=True, withdrawn=False),
                name="fitted_at_one_place",
            ),
            models.CheckConstraint(
                condition=Q(end__isnull=True) | Q(end__gte=F("start")),
                name="fitting_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.component} on {self.rig} from {day_words(self.start)}"

    @property
    def place_words(self) -> str:
        return TIRE_PLACES.get(self.place, self.place)


class MassUnit(models.TextChoices):
    POUNDS = "lb", "lb"
    KILOGRAMS = "kg", "kg"


class AxleRating(models.Model):
    """What the placard says an axle may carry (GAWR); axles count from the front."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="axle_ratings")
    axle = models.PositiveSmallIntegerField()
    rating = models.DecimalField(max_digits=7, decimal_places=1)
    unit = models.CharField(max_length=2, choices=MassUnit.choices)

    class Meta:
        ordering = ["axle"]
        constraints = [
            models.UniqueConstraint(fields=["rig", "axle"], name="axle_rated_once"),
            models.CheckConstraint(condition=Q(rating__gt=0), name="axle_rating_some"),
        ]

    def __str__(self) -> str:
        return f"axle {self.axle} of {self.rig}: {self.rating} {self.unit}"
