"""Events as people say them."""

EVENT_WORDS = {
    "alarm_sounded": "An alarm sounded",
    "battery_disconnected": "Battery disconnected",
    "battery_replaced": "Battery replaced",
    "bearing_work": "Work on wheel bearings",
    "brake_work": "Work on brakes",
    "chassis_battery_replaced": "Chassis battery replaced",
    "collision": "Collision",
    "coupled": "Coupled to the tow vehicle",
    "curb_strike": "Hit a curb or pothole",
    "cylinder_swapped": "Propane cylinder swapped",
    "dust": "Dust storm or dusty road",
    "engine_replaced": "New engine installed",
    "extinguisher_used": "Extinguisher used",
    "flood": "Flood or deep water",
    "freeze": "Freeze",
    "generator_replaced": "New generator installed",
    "hail": "Hail",
    "hard_stop": "Hard stop",
    "house_battery_replaced": "House battery replaced",
    "long_drive": "Long drive",
    "new_wheel": "New wheel installed",
    "propane_opened": "Propane system opened",
    "roof_work": "Work on the roof",
    "tank_emptied": "Tank emptied",
    "tire_replaced": "Tire replaced",
    "water_contaminated": "Water contaminated",
    "wheel_off": "Wheel off",
}


def event_words(kind: str) -> str:
    return EVENT_WORDS[kind]
