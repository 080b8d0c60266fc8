"""Events as people say them."""

from django.utils.translation import gettext_lazy as _

EVENT_WORDS = {
    "alarm_sounded": _("An alarm sounded"),
    "battery_disconnected": _("Battery disconnected"),
    "battery_replaced": _("Battery replaced"),
    "bearing_work": _("Work on wheel bearings"),
    "brake_work": _("Work on brakes"),
    "collision": _("Collision"),
    "coupled": _("Coupled to the tow vehicle"),
    "curb_strike": _("Curb or pothole struck"),
    "cylinder_swapped": _("Propane cylinder swapped"),
    "dust": _("Dust storm or dusty road"),
    "engine_replaced": "New engine fitted",
    "extinguisher_used": _("Extinguisher used"),
    "flood": _("Flood or deep water"),
    "freeze": _("Freeze"),
    "generator_replaced": "New generator fitted",
    "hail": _("Hail"),
    "hard_stop": _("Hard stop"),
    "long_drive": _("Long drive"),
    "new_wheel": _("New wheel fitted"),
    "propane_opened": _("Propane system opened"),
    "roof_work": _("Work on the roof"),
    "tank_emptied": _("Tank emptied"),
    "tire_replaced": _("Tire replaced"),
    "water_contaminated": _("Water contaminated"),
    "wheel_off": _("Wheel off"),
}


def event_words(kind: str) -> str:
    return str(EVENT_WORDS[kind])
