"""Rigs, their meters and readings, stays, trips and events."""

from .meters import (
    HOUR_METERS,
    FuelStop,
    Meter,
    MeterKind,
    MeterReplacement,
    MeterUnit,
    Reading,
    SevereDuty,
    VolumeUnit,
    value_field,
)
from .rigs import (
    LAYOUT_PLACES,
    TRAILERS,
    WHEEL_PLACES,
    Rig,
    RigKind,
    RigQuerySet,
    WheelLayout,
)
from .shelf import (
    Manual,
    PageNote,
    Spot,
)
from .stays import (
    BatteryCare,
    BatteryKind,
    RunwaySetting,
    Stay,
    StayVisit,
    TemperatureUnit,
    WaterKept,
    capacity_field,
    drain_field,
    temperature_field,
)
from .travel import (
    Event,
    Trip,
)
from .weights import (
    LabelKind,
    ScaleTicket,
    WeightLabel,
    WeightUnit,
)

__all__ = [
    "HOUR_METERS",
    "LAYOUT_PLACES",
    "TRAILERS",
    "WHEEL_PLACES",
    "BatteryCare",
    "BatteryKind",
    "Event",
    "FuelStop",
    "LabelKind",
    "Manual",
    "Meter",
    "MeterKind",
    "MeterReplacement",
    "MeterUnit",
    "PageNote",
    "Reading",
    "Rig",
    "RigKind",
    "RigQuerySet",
    "RunwaySetting",
    "ScaleTicket",
    "SevereDuty",
    "Spot",
    "Stay",
    "StayVisit",
    "TemperatureUnit",
    "Trip",
    "VolumeUnit",
    "WaterKept",
    "WeightLabel",
    "WeightUnit",
    "WheelLayout",
    "capacity_field",
    "drain_field",
    "temperature_field",
    "value_field",
]
