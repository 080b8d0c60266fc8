"""Rigs, their meters and readings, stays, trips and events."""

import uuid
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from maintenance.households.models import DistanceUnit, Household, Member

from .weight_models import ScaleTicket, WeightLabel, WeightUnit

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise


__all__ = ["ScaleTicket", "WeightLabel"]  # models that stand in a file of their own


class RigKind(models.TextChoices):
    MOTORHOME = "motorhome", _("Motorhome")
    CAMPERVAN = "campervan", _("Campervan")
    TRAVEL_TRAILER = "travel_trailer", _("Travel trailer")
    FIFTH_WHEEL = "fifth_wheel", _("Fifth wheel")
    TOW_VEHICLE = "tow_vehicle", _("Tow vehicle")
    TOWED_CAR = "towed_car", _("Towed car")


TRAILERS = {RigKind.TRAVEL_TRAILER, RigKind.FIFTH_WHEEL}


class WheelLayout(models.TextChoices):
    FOUR = "four", _("Four wheels")
    SIX = "six", _("Six wheels, dual at the rear")
    TAG = "tag", _("Eight wheels, dual at the rear and a tag axle")
    TRAILER_ONE = "trailer_one", _("Trailer, one axle")
    TRAILER_TWO = "trailer_two", _("Trailer, two axles")
    TRAILER_THREE = "trailer_three", _("Trailer, three axles")


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
}


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


class RigQuerySet(models.QuerySet["Rig"]):
    def for_household(self, household: Household) -> "RigQuerySet":
        return self.filter(household=household)

    def kept(self) -> "RigQuerySet":
        """Rigs that the household still has; a sold rig is silent."""
        return self.filter(sold_on__isnull=True)


class Rig(models.Model):
    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="rigs"
    )
    name = models.CharField(_("name"), max_length=60)
    kind = models.CharField(_("kind"), max_length=14, choices=RigKind.choices)
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
    def places(self) -> tuple[str, ...]:
        return LAYOUT_PLACES[WheelLayout(self.wheels)]

    @property
    def has_dual_wheels(self) -> bool:
        return "LRI" in self.places


class Meter(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="meters")
    kind = models.CharField(_("meter"), max_length=9, choices=MeterKind.choices)
    unit = models.CharField(_("unit"), max_length=2, choices=MeterUnit.choices)
    in_service_value = value_field(_("value when in service"), null=True, blank=True)

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


class TemperatureUnit(models.TextChoices):
    FAHRENHEIT = "°F", _("°F")
    CELSIUS = "°C", _("°C")


class WaterKept(models.TextChoices):
    """What was done about frost in the water system."""

    NOT_TOLD = "", _("Not told")
    DRY = "dry", _("Blown out or drained dry")
    ANTIFREEZE = "antifreeze", _("Filled with antifreeze")
    HEATED = "heated", _("Kept heated")
    NOTHING = "nothing", _("Nothing: it holds water")


class BatteryCare(models.TextChoices):
    CONNECTED = "connected", _("Connected, nothing charges them")
    DISCONNECTED = "disconnected", _("Disconnected")
    CHARGED = "charged", _("Kept charged (shore power or sun)")


def temperature_field(label: "StrOrPromise") -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=4, decimal_places=1, null=True, blank=True
    )


class Stay(models.Model):
    """A storage period of a rig; `ended_on` is empty while it is open or planned.

    `rhythm` is what its runways ask: key of a plan item -> days and, where a reading
    tells, its day and the days from then. Renewed with the stay and its readings.
    """

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="stays")
    start = models.DateField(_("from"))
    planned_until = models.DateField(_("planned until"), null=True, blank=True)
    ended_on = models.DateField(_("ended on"), null=True, blank=True)
    place = models.CharField(_("where"), max_length=80, blank=True)
    winterized = models.BooleanField(_("water system winterized"), default=False)
    water = models.CharField(
        _("against frost, the water system is"),
        max_length=10,
        choices=WaterKept.choices,
        blank=True,
    )
    roofed = models.BooleanField(_("under a roof"), default=False)
    has_power = models.BooleanField(_("shore power there"), default=False)
    batteries = models.CharField(
        _("batteries are"),
        max_length=12,
        choices=BatteryCare.choices,
        default=BatteryCare.CONNECTED,
    )
    temperature_unit = models.CharField(
        max_length=2,
        choices=TemperatureUnit.choices,
        default=TemperatureUnit.FAHRENHEIT,
    )
    lowest = temperature_field(_("lowest temperature there"))
    usual = temperature_field(_("usual temperature there"))
    humidity = models.PositiveSmallIntegerField(
        _("usual humidity of the air (%)"), null=True, blank=True
    )
    rhythm = models.JSONField(default=dict, editable=False)
    woken_without = models.TextField(blank=True, editable=False)
    notes = models.TextField(_("notes"), blank=True)

    class Meta:
        ordering = ["-start"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("start")),
                name="stay_ends_after_start",
            ),
            models.CheckConstraint(
                condition=Q(planned_until__isnull=True)
                | Q(planned_until__gte=F("start")),
                name="stay_planned_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"stay from {self.start}"

    def is_open(self, as_of: date) -> bool:
        return self.start <= as_of and (self.ended_on is None or self.ended_on > as_of)


class StayVisit(models.Model):
    """What was read at a stored rig: on the day it was put away, and at each visit.

    The state of a battery is text as `charge_of` understands it: `12.6 V`, `1.255` (the
    gravity of its acid) or `85 %`.
    """

    stay = models.ForeignKey(Stay, on_delete=models.CASCADE, related_name="visits")
    on = models.DateField(_("on"))
    chassis = models.CharField(_("chassis battery"), max_length=10, blank=True)
    house = models.CharField(_("house battery"), max_length=10, blank=True)
    damp = models.PositiveSmallIntegerField(
        _("humidity inside (%)"), null=True, blank=True
    )
    pressures = models.JSONField(default=dict, blank=True)  # place -> "65 psi"
    note = models.TextField(_("what you saw"), blank=True)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"visit on {self.on}"


class BatteryKind(models.TextChoices):
    FLOODED = "flooded", _("lead-acid, flooded")
    AGM = "agm", _("AGM")
    LIFEPO4 = "lifepo4", _("lithium (LiFePO4)")


def capacity_field(label: "StrOrPromise") -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=6, decimal_places=1, null=True, blank=True
    )


def drain_field(label: "StrOrPromise") -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=6, decimal_places=3, null=True, blank=True
    )


class RunwaySetting(models.Model):
    """What the runways of a rig's stays rest on. `drains`: key of a load -> battery and
    the part of the time; a measured drain rules over them. `burns`: name, BTU/h and
    duty of each appliance."""

    rig = models.OneToOneField(
        Rig, on_delete=models.CASCADE, related_name="runway_setting"
    )
    chassis_capacity = capacity_field(_("chassis battery (Ah)"))
    chassis_kind = models.CharField(
        _("its kind"), max_length=7, choices=BatteryKind.choices, default="flooded"
    )
    chassis_since = models.DateField(_("installed on"), null=True, blank=True)
    chassis_drain = drain_field(_("drain measured at the chassis battery (A)"))
    house_capacity = capacity_field(_("house batteries together (Ah)"))
    house_kind = models.CharField(
        _("their kind"), max_length=7, choices=BatteryKind.choices, default="flooded"
    )
    house_since = models.DateField(_("installed on"), null=True, blank=True)
    house_drain = drain_field(_("drain measured at the house batteries (A)"))
    drains = models.JSONField(default=dict, blank=True)
    seal = models.DecimalField(
        _("depth of a trap's seal"), max_digits=5, decimal_places=1, default=51
    )
    seal_unit = models.CharField(max_length=2, default="mm")
    traps = models.PositiveSmallIntegerField(_("drain traps"), default=3)
    heater = models.DecimalField(
        _("water heater (gal)"), max_digits=4, decimal_places=1, default=6
    )
    heater_bypassed = models.BooleanField(
        _("it has a bypass for winterizing"), default=True
    )
    propane = models.DecimalField(
        _("propane aboard (lb)"), max_digits=5, decimal_places=1, null=True, blank=True
    )
    burns = models.JSONField(default=list, blank=True)

    def __str__(self) -> str:
        return f"runways of {self.rig}"


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
        verbose_name=_("towed by"),
    )
    towed_car = models.ForeignKey(
        Rig,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="towed_on",
        verbose_name=_("car towed behind"),
    )
    towed_car_counts = models.BooleanField(
        _("its odometer counts while it is towed"), default=False
    )
    start = models.DateField(_("from"))
    end = models.DateField(_("to"))
    distance = value_field(_("distance"), null=True, blank=True)
    unit = models.CharField(
        _("unit"),
        max_length=2,
        choices=DistanceUnit.choices,
        default=DistanceUnit.MILES,
    )
    hitched_at = value_field(_("odometer at the start"), null=True, blank=True)
    unhitched_at = value_field(_("odometer at the end"), null=True, blank=True)
    # What those figures have given the meter; renewed when they change.
    start_reading = models.OneToOneField(
        Reading, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    end_reading = models.OneToOneField(
        Reading, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    origin = models.CharField(_("from where"), max_length=80, blank=True)
    title = models.CharField(_("where to"), max_length=80, blank=True)
    people = models.PositiveSmallIntegerField(_("people"), null=True, blank=True)
    water = models.DecimalField(
        _("fresh water"), max_digits=6, decimal_places=1, null=True, blank=True
    )
    water_unit = models.CharField(
        max_length=3, choices=VolumeUnit.choices, default=VolumeUnit.GALLONS
    )
    cargo = models.DecimalField(
        _("cargo"), max_digits=7, decimal_places=1, null=True, blank=True
    )
    cargo_unit = models.CharField(
        max_length=2, choices=WeightUnit.choices, default=WeightUnit.POUNDS
    )
    # The day on which somebody said how it went.
    told_on = models.DateField(null=True, editable=False)

    class Meta:
        ordering = ["-start"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end__gte=F("start")), name="trip_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return self.title or f"trip from {self.start}"

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
    def nights(self) -> int:
        return (self.end - self.start).days


class Event(models.Model):
    """Something that happened to a rig and that raises follow-ups."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(_("what happened"), max_length=24)
    on = models.DateField(_("on"))
    values = models.JSONField(default=dict, blank=True)  # meter kind -> "42310.0"
    places = models.JSONField(null=True, blank=True)  # None: all places
    note = models.CharField(_("note"), max_length=200, blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.kind} on {self.on}"


class Manual(models.Model):
    """A maker's book or the photo of a placard. `stored` is a name nobody can guess."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="manuals")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    title = models.CharField(_("title"), max_length=120)
    about = models.CharField(_("what it is about"), max_length=80, blank=True)
    content_type = models.CharField(max_length=40)
    stored = models.CharField(max_length=80)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    pages = models.PositiveIntegerField(null=True)  # None: a photo, or not told
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["title", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "title"], name="manual_title_once_per_rig"
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_image(self) -> bool:
        return self.content_type.startswith("image/")


class PageNote(models.Model):
    """What stands on a page of a manual: “lug torque 140 ft·lbf”."""

    manual = models.ForeignKey(Manual, on_delete=models.CASCADE, related_name="notes")
    page = models.PositiveIntegerField(_("page"))
    text = models.CharField(_("what stands there"), max_length=200)

    class Meta:
        ordering = ["page", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(page__gte=1), name="page_from_one")
        ]

    def __str__(self) -> str:
        return f"p. {self.page}: {self.text}"


class Spot(models.Model):
    """Where something is on a rig, in words and with a photo; `name` is the library's
    name of such a place. The photo is always a JPEG."""

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="spots")
    name = models.SlugField(max_length=40)
    words = models.CharField(_("where it is"), max_length=300, blank=True)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    photo = models.CharField(max_length=80, blank=True)  # the name it is stored under
    sha256 = models.CharField(max_length=64, blank=True)
    told_on = models.DateField()
    told_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["rig", "name"], name="spot_once_per_rig"),
            models.CheckConstraint(
                condition=~Q(words="") | ~Q(photo=""), name="spot_tells_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.rig}"
