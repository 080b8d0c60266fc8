"""What a household owns to work with: tools, and supplies with their stock."""

from django.db import models
from django.db.models import F, Q

from maintenance.households.models import Household


class ToolKind(models.TextChoices):
    TORQUE_WRENCH = "torque_wrench", "Torque wrench"
    SOCKET = "socket", "Socket"
    OTHER = "other", "Another tool"


class Drive(models.TextChoices):
    """The square that a wrench turns, in inches, as it is stamped."""

    QUARTER = "1/4", "1/4 in"
    THREE_EIGHTHS = "3/8", "3/8 in"
    HALF = "1/2", "1/2 in"
    THREE_QUARTERS = "3/4", "3/4 in"
    ONE = "1", "1 in"


class ScaleUnit(models.TextChoices):
    FOOT_POUNDS = "ft·lbf", "ft·lbf"
    INCH_POUNDS = "in·lbf", "in·lbf"
    NEWTON_METERS = "N·m", "N·m"


class StockUnit(models.TextChoices):
    PIECE = "piece", "pieces"
    QUART = "qt", "qt"
    GALLON = "gal", "gal"
    FLUID_OUNCE = "fl oz", "fl oz"
    LITER = "L", "L"
    OUNCE = "oz", "oz"
    POUND = "lb", "lb"
    KILOGRAM = "kg", "kg"
    FOOT = "ft", "ft"
    METER = "m", "m"


class ToolQuerySet(models.QuerySet["Tool"]):
    def for_household(self, household: Household) -> "ToolQuerySet":
        return self.filter(household=household)


class Tool(models.Model):
    """A tool. Scale, drive and calibration are those of a torque wrench; a socket has a
    drive and a size."""

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="tools"
    )
    kind = models.CharField("kind", max_length=13, choices=ToolKind.choices)
    name = models.CharField("name", max_length=80)
    drive = models.CharField("drive", max_length=3, choices=Drive.choices, blank=True)
    size = models.CharField("size", max_length=20, blank=True)
    unit = models.CharField(
        "scale in", max_length=6, choices=ScaleUnit.choices, blank=True
    )
    lowest_mark = models.DecimalField(
        "lowest mark", max_digits=6, decimal_places=1, null=True, blank=True
    )
    full_scale = models.DecimalField(
        "highest mark", max_digits=6, decimal_places=1, null=True, blank=True
    )
    calibrated_on = models.DateField("calibrated on", null=True, blank=True)
    cycles = models.PositiveIntegerField("clicks since then", default=0)
    mishap = models.BooleanField("dropped or overloaded since", default=False)
    note = models.CharField("note", max_length=200, blank=True)

    objects = ToolQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["household", "name"], name="tool_name_once_per_household"
            ),
            models.CheckConstraint(
                condition=~Q(kind="torque_wrench")
                | Q(full_scale__gt=0, full_scale__isnull=False) & ~Q(unit=""),
                name="torque_wrench_has_a_scale",
            ),
            models.CheckConstraint(
                condition=Q(lowest_mark__isnull=True)
                | Q(lowest_mark__gte=0, lowest_mark__lt=F("full_scale")),
                name="lowest_mark_below_highest",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_torque_wrench(self) -> bool:
        return self.kind == ToolKind.TORQUE_WRENCH


class SupplyQuerySet(models.QuerySet["Supply"]):
    def for_household(self, household: Household) -> "SupplyQuerySet":
        return self.filter(household=household)


class Supply(models.Model):
    """Something that is used up. Without `stock` it is at hand and not counted."""

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="supplies"
    )
    name = models.CharField("name", max_length=80)
    part_number = models.CharField("part number", max_length=40, blank=True)
    unit = models.CharField(
        "counted in",
        max_length=5,
        choices=StockUnit.choices,
        default=StockUnit.PIECE,
    )
    stock = models.DecimalField(
        "in stock", max_digits=8, decimal_places=2, null=True, blank=True
    )
    note = models.CharField("note", max_length=200, blank=True)

    objects = SupplyQuerySet.as_manager()

    class Meta:
        ordering = ["name", "part_number", "pk"]
        verbose_name_plural = "supplies"
        constraints = [
            models.UniqueConstraint(
                fields=["household", "name", "part_number"],
                name="supply_once_per_household",
            ),
            models.CheckConstraint(
                condition=Q(stock__isnull=True) | Q(stock__gte=0),
                name="stock_not_below_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.part_number}" if self.part_number else self.name
