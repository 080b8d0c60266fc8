"""The kinds of events that a rule can follow."""

WHEEL_OFF = "wheel_off"
EVENT_KINDS = frozenset(
    {
        "alarm_sounded",
        "battery_disconnected",
        "battery_replaced",
        "bearing_work",
        "brake_work",
        "chassis_battery_replaced",
        "collision",
        "coupled",
        "curb_strike",
        "cylinder_swapped",
        "dust",
        "engine_replaced",
        "extinguisher_used",
        "flood",
        "freeze",
        "generator_replaced",
        "hail",
        "hard_stop",
        "house_battery_replaced",
        "long_drive",
        "new_wheel",
        "propane_opened",
        "roof_work",
        "tank_emptied",
        "tire_replaced",
        "water_contaminated",
        WHEEL_OFF,
    }
)
