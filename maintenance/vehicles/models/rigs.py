"""Rigs: what they are and which wheels they have."""

import uuid

from django.db import models

from maintenance.households.models import Household
from maintenance.households.row_keys import row_key_field


class RigKind(models.TextChoices):
    MOTORHOME = "motorhome", "Motorhome"
    CAMPERVAN = "campervan", "Campervan"
    TRAVEL_TRAILER = "travel_trailer", "Travel trailer"
    FIFTH_WHEEL = "fifth_wheel", "Fifth wheel"
    TOW_VEHICLE = "tow_vehicle", "Tow vehicle"
    TOWED_CAR = "towed_car", "Towed car"
    TOY_HAULER = "toy_hauler", "Toy hauler"
    FOLDING_TRAILER = "folding_trailer", "Folding trailer"
    TRUCK_CAMPER = "truck_camper", "Truck camper"
    TOW_DOLLY = "tow_dolly", "Tow dolly"


# What another vehicle moves: its distance is what that one drove with it.
TRAILERS = {
    RigKind.TRAVEL_TRAILER,
    RigKind.FIFTH_WHEEL,
    RigKind.TOY_HAULER,
    RigKind.FOLDING_TRAILER,
    RigKind.TRUCK_CAMPER,
    RigKind.TOW_DOLLY,
}


class WheelLayout(models.TextChoices):
    FOUR = "four", "Four wheels"
    SIX = "six", "Six wheels, dual at the rear"
    TAG = "tag", "Eight wheels, dual at the rear and a tag axle"
    TRAILER_ONE = "trailer_one", "Trailer, one axle"
    TRAILER_TWO = "trailer_two", "Trailer, two axles"
    TRAILER_THREE = "trailer_three", "Trailer, three axles"
    NONE = "none", "No wheels of its own"


# Place -> words. L and R as seen by somebody who sits in the rig and looks ahead.
DUAL_PLACES = frozenset({"LRO", "LRI", "RRI", "RRO"})
WHEEL_PLACES = {
    "LF": "left front",
    "RF": "right front",
    "LR": "left rear",
    "RR": "right rear",
    "LRO": "left rear outer",
    "LRI": "left rear inner",
    "RRI": "right rear inner",
    "RRO": "right rear outer",
    "LT": "left tag",
    "RT": "right tag",
    "L1": "left, first axle",
    "R1": "right, first axle",
    "L2": "left, second axle",
    "R2": "right, second axle",
    "L3": "left, third axle",
    "R3": "right, third axle",
}


LAYOUT_PLACES = {
    WheelLayout.FOUR: ("LF", "RF", "LR", "RR"),
    WheelLayout.SIX: ("LF", "RF", "LRO", "LRI", "RRI", "RRO"),
    WheelLayout.TAG: ("LF", "RF", "LRO", "LRI", "RRI", "RRO", "LT", "RT"),
    WheelLayout.TRAILER_ONE: ("L1", "R1"),
    WheelLayout.TRAILER_TWO: ("L1", "R1", "L2", "R2"),
    WheelLayout.TRAILER_THREE: ("L1", "R1", "L2", "R2", "L3", "R3"),
    WheelLayout.NONE: (),
}


class DualNuts(models.TextChoices):
    """What holds a dual wheel. Where two nuts share a stud, the outer one has to come
    loose before the inner is tightened: a shop's work."""

    ONE = "one", "One nut on each stud"
    TWO = "two", "An inner and an outer nut on each stud"


class RigQuerySet(models.QuerySet["Rig"]):
    def for_household(self, household: Household) -> "RigQuerySet":
        return self.filter(household=household)

    def kept(self) -> "RigQuerySet":
        """Rigs that the household still has; a sold rig is silent."""
        return self.filter(sold_on__isnull=True)


class Rig(models.Model):
    row_key = row_key_field()
    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="rigs"
    )
    name = models.CharField("name", max_length=60)
    kind = models.CharField("kind", max_length=15, choices=RigKind.choices)
    wheels = models.CharField("wheels", max_length=13, choices=WheelLayout.choices)
    dual_nuts = models.CharField(
        "nuts of the dual wheels",
        max_length=3,
        choices=DualNuts.choices,
        blank=True,
        default="",
    )
    equipment = models.JSONField("what it has", default=list, blank=True)
    in_service_on = models.DateField("in service since")
    sold_on = models.DateField("sold on", null=True, blank=True)
    said_in_use_on = models.DateField(null=True, blank=True, editable=False)
    make = models.CharField("make", max_length=40, blank=True)
    model = models.CharField("model", max_length=60, blank=True)
    vin = models.CharField("vehicle identification number", max_length=17, blank=True)
    year = models.PositiveSmallIntegerField("model year", null=True, blank=True)
    plate = models.CharField("plate", max_length=15, blank=True)
    notes = models.TextField("notes", blank=True)

    objects = RigQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["household", "name"], name="rig_name_once_per_household"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def identity(self) -> str:
        """“Wrenfield 24, motorhome, 2018”, as far as it is known."""
        made = " ".join(filter(None, (self.make, self.model)))
        kind = self.get_kind_display()
        words = (made, kind.lower() if made else kind, str(self.year or ""))
        return ", ".join(filter(None, words))

    @property
    def stop_words(self) -> str:
        """What its tag says where it shouldn't move."""
        return f"Don't {'tow' if self.is_trailer else 'drive'} {self}"

    @property
    def is_trailer(self) -> bool:
        return self.kind in TRAILERS

    @property
    def places(self) -> tuple[str, ...]:
        return LAYOUT_PLACES[WheelLayout(self.wheels)]

    @property
    def has_dual_wheels(self) -> bool:
        return not DUAL_PLACES.isdisjoint(self.places)


class RigPhoto(models.Model):
    """How the rig looks, always a JPEG. `stored` is a name nobody can guess, `key` a
    new one for each photo, since browsers keep what they have seen for a while."""

    rig = models.OneToOneField(Rig, on_delete=models.CASCADE, related_name="photo")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    stored = models.CharField(max_length=80)
    sha256 = models.CharField(max_length=64)
    added_on = models.DateField()

    def __str__(self) -> str:
        return f"Photo of {self.rig}"
