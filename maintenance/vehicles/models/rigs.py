"""Rigs: what they are and which wheels they have."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from maintenance.households.models import Household
from maintenance.households.row_keys import row_key_field


class RigKind(models.TextChoices):
    MOTORHOME = "motorhome", _("Motorhome")
    CAMPERVAN = "campervan", _("Campervan")
    TRAVEL_TRAILER = "travel_trailer", _("Travel trailer")
    FIFTH_WHEEL = "fifth_wheel", _("Fifth wheel")
    TOW_VEHICLE = "tow_vehicle", _("Tow vehicle")
    TOWED_CAR = "towed_car", _("Towed car")
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
# Kinds that nobody has drawn yet -> the kind whose drawing comes nearest.
NEAREST_DRAWING = {
    RigKind.TOY_HAULER: RigKind.TRAVEL_TRAILER,
    RigKind.FOLDING_TRAILER: RigKind.TRAVEL_TRAILER,
    RigKind.TRUCK_CAMPER: RigKind.CAMPERVAN,
    RigKind.TOW_DOLLY: RigKind.TOWED_CAR,
}


class WheelLayout(models.TextChoices):
    FOUR = "four", _("Four wheels")
    SIX = "six", _("Six wheels, dual at the rear")
    TAG = "tag", _("Eight wheels, dual at the rear and a tag axle")
    TRAILER_ONE = "trailer_one", _("Trailer, one axle")
    TRAILER_TWO = "trailer_two", _("Trailer, two axles")
    TRAILER_THREE = "trailer_three", _("Trailer, three axles")
    NONE = "none", "No wheels of its own"


# Place -> words. L and R as seen by somebody who sits in the rig and looks ahead.
WHEEL_PLACES = {
    "LF": _("left front"),
    "RF": _("right front"),
    "LR": _("left rear"),
    "RR": _("right rear"),
    "LRO": _("left rear outer"),
    "LRI": _("left rear inner"),
    "RRI": _("right rear inner"),
    "RRO": _("right rear outer"),
    "LT": _("left tag"),
    "RT": _("right tag"),
    "L1": _("left, first axle"),
    "R1": _("right, first axle"),
    "L2": _("left, second axle"),
    "R2": _("right, second axle"),
    "L3": _("left, third axle"),
    "R3": _("right, third axle"),
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
    name = models.CharField(_("name"), max_length=60)
    kind = models.CharField(_("kind"), max_length=15, choices=RigKind.choices)
    wheels = models.CharField(_("wheels"), max_length=13, choices=WheelLayout.choices)
    equipment = models.JSONField(_("what it has"), default=list, blank=True)
    in_service_on = models.DateField(_("in service since"))
    sold_on = models.DateField(_("sold on"), null=True, blank=True)
    vin = models.CharField(
        _("vehicle identification number"), max_length=17, blank=True
    )
    year = models.PositiveSmallIntegerField(_("model year"), null=True, blank=True)
    plate = models.CharField(_("plate"), max_length=15, blank=True)
    notes = models.TextField(_("notes"), blank=True)

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
    def is_trailer(self) -> bool:
        return self.kind in TRAILERS

    @property
    def drawn_as(self) -> RigKind:
        """The kind whose drawing shows it."""
        kind = RigKind(self.kind)
        return NEAREST_DRAWING.get(kind, kind)

    @property
    def places(self) -> tuple[str, ...]:
        return LAYOUT_PLACES[WheelLayout(self.wheels)]

    @property
    def has_dual_wheels(self) -> bool:
        return "LRI" in self.places
