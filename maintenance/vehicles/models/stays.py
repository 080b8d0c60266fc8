"""Stays, the visits during them, and what their runways rest on."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from maintenance.core.calculators.antifreeze import frost_risk
from maintenance.core.units import convert
from maintenance.households.models import Member
from maintenance.ui.words import day_words

from .rigs import Rig


class TemperatureUnit(models.TextChoices):
    FAHRENHEIT = "°F", "°F"
    CELSIUS = "°C", "°C"


class WaterKept(models.TextChoices):
    """What was done about frost in the water system."""

    NOT_TOLD = "", "Not told"
    DRY = "dry", "Blown out or drained dry"
    ANTIFREEZE = "antifreeze", "Filled with antifreeze"
    HEATED = "heated", "Kept heated"
    NOTHING = "nothing", "Nothing: it holds water"


class BatteryCare(models.TextChoices):
    CONNECTED = "connected", "Connected, nothing charges them"
    DISCONNECTED = "disconnected", "Disconnected"
    CHARGED = "charged", "Kept charged (shore power or sun)"


def temperature_field(label: str) -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=4, decimal_places=1, null=True, blank=True
    )


class Stay(models.Model):
    """A storage period of a rig; `ended_on` is empty while it is open or planned.

    `rhythm` is what its runways ask: name of a runway -> days and, where a reading
    tells, its day and the days from then. Renewed with the stay and its readings; one
    that was kept by an earlier version has the key of a plan item for the name.
    """

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="stays")
    start = models.DateField("from")
    planned_until = models.DateField("planned until", null=True, blank=True)
    ended_on = models.DateField("ended on", null=True, blank=True)
    place = models.CharField("where", max_length=80, blank=True)
    winterized = models.BooleanField("water system winterized", default=False)
    water = models.CharField(
        "against frost, the water system is",
        max_length=10,
        choices=WaterKept.choices,
        blank=True,
    )
    roofed = models.BooleanField("under a roof", default=False)
    has_power = models.BooleanField("shore power there", default=False)
    batteries = models.CharField(
        "batteries are",
        max_length=12,
        choices=BatteryCare.choices,
        default=BatteryCare.CONNECTED,
    )
    temperature_unit = models.CharField(
        max_length=2,
        choices=TemperatureUnit.choices,
        default=TemperatureUnit.FAHRENHEIT,
    )
    lowest = temperature_field("lowest temperature there")
    usual = temperature_field("usual temperature there")
    humidity = models.PositiveSmallIntegerField(
        "usual humidity of the air (%)", null=True, blank=True
    )
    rhythm = models.JSONField(default=dict, editable=False)
    woken_without = models.TextField(blank=True, editable=False)
    notes = models.TextField("notes", blank=True)
    withdrawn = models.BooleanField(default=False, editable=False)  # it never was

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
        return f"stay from {day_words(self.start)}"

    @property
    def water_freezes(self) -> bool:
        """Frost is expected, and the rig's water is neither out nor kept warm."""
        safe = self.winterized or self.water == WaterKept.HEATED
        if safe or self.lowest is None:
            return False
        cold = convert(self.lowest, self.temperature_unit, "°F")
        return frost_risk(cold).freezes

    @property
    def known_end(self) -> date:
        return self.ended_on or self.planned_until or date.max

    def is_open(self, as_of: date) -> bool:
        return self.start <= as_of and (self.ended_on is None or self.ended_on > as_of)


class StayVisit(models.Model):
    """What was read at a stored rig: on the day it was put away, and at each visit.

    The state of a battery is text as `charge_of` understands it: `12.6 V`, `1.255` (the
    gravity of its acid) or `85 %`.
    """

    stay = models.ForeignKey(Stay, on_delete=models.CASCADE, related_name="visits")
    on = models.DateField("on")
    chassis = models.CharField("chassis battery", max_length=10, blank=True)
    house = models.CharField("house battery", max_length=10, blank=True)
    damp = models.PositiveSmallIntegerField(
        "humidity inside (%)", null=True, blank=True
    )
    pressures = models.JSONField(default=dict, blank=True)  # place -> "65 psi"
    note = models.TextField("what you saw", blank=True)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"visit on {day_words(self.on)}"


class BatteryKind(models.TextChoices):
    FLOODED = "flooded", "lead-acid, flooded"
    AGM = "agm", "AGM"
    LIFEPO4 = "lifepo4", "lithium (LiFePO4)"


def capacity_field(label: str) -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=6, decimal_places=1, null=True, blank=True
    )


def drain_field(label: str) -> models.DecimalField:
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
    chassis_capacity = capacity_field("chassis battery (Ah)")
    chassis_kind = models.CharField(
        "its kind", max_length=7, choices=BatteryKind.choices, default="flooded"
    )
    chassis_since = models.DateField("installed on", null=True, blank=True)
    chassis_drain = drain_field("drain measured at the chassis battery (A)")
    house_capacity = capacity_field("house batteries together (Ah)")
    house_kind = models.CharField(
        "their kind", max_length=7, choices=BatteryKind.choices, default="flooded"
    )
    house_since = models.DateField("installed on", null=True, blank=True)
    house_drain = drain_field("drain measured at the house batteries (A)")
    drains = models.JSONField(default=dict, blank=True)
    seal = models.DecimalField(
        "depth of a trap's seal", max_digits=5, decimal_places=1, default=51
    )
    seal_unit = models.CharField(max_length=2, default="mm")
    traps = models.PositiveSmallIntegerField("drain traps", default=3)
    heater = models.DecimalField(
        "water heater (gal)", max_digits=4, decimal_places=1, default=6
    )
    heater_bypassed = models.BooleanField(
        "it has a bypass for winterizing", default=True
    )
    propane = models.DecimalField(
        "propane aboard (lb)", max_digits=5, decimal_places=1, null=True, blank=True
    )
    burns = models.JSONField(default=list, blank=True)

    def __str__(self) -> str:
        return f"runways of {self.rig}"
