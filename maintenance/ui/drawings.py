"""Which drawing stands for a kind of rig, and where its places are in it. Six are drawn
from the side; a kind without one of its own takes the nearest."""

from dataclasses import dataclass

DRAWINGS = {
    "motorhome": "motorhome",
    "campervan": "campervan",
    "travel_trailer": "trailer",
    "fifth_wheel": "fifth",
    "tow_vehicle": "pickup",
    "towed_car": "car",
    "toy_hauler": "trailer",
    "folding_trailer": "trailer",
    "truck_camper": "campervan",
    "tow_dolly": "car",
}

# In the order of their numbers: from the roof down, then from rear to front.
PLACES = {
    "roof": "Roof",
    "side": "Sides and doors",
    "inside": "Inside",
    "water": "Water and waste",
    "wheels": "Wheels and brakes",
    "power": "Power and batteries",
    "propane": "Propane",
    "hitch": "Hitch",
    "engine": "Engine and chassis",
}


@dataclass(frozen=True, slots=True)
class Pin:
    """Where a place is in a drawing of 340 by 146, and the middle of its pin."""

    x: int
    y: int
    pin_x: int
    pin_y: int


# Drawing -> place -> its pin; a drawing has room for pins from -40, -40 to 374, 180.
PINS = {
    drawing: {
        place: Pin(*at) for place, at in zip(PLACES, where, strict=True)
    }
    for drawing, where in {
        "motorhome": (
            (139, 17, 139, -20), (206, 31, 222, -20), (53, 54, 44, -20),
            (33, 91, 30, 160), (87, 117, 87, 160), (123, 90, 144, 160),
            (151, 90, 201, 160), (11, 100, -16, 118), (296, 92, 350, 60),
        ),
        "campervan": (
            (154, 20, 154, -20), (214, 38, 232, -20), (84, 59, 70, -20),
            (56, 98, 34, 160), (90, 116, 91, 160), (124, 98, 148, 160),
            (140, 100, 205, 160), (36, 106, -16, 118), (290, 84, 350, 60),
        ),
        "trailer": (
            (128, 17, 128, -20), (206, 31, 222, -20), (54, 58, 44, -20),
            (40, 88, 34, 160), (142, 124, 142, 160), (233, 89, 236, 160),
            (288, 94, 330, 50), (320, 118, 350, 152), (90, 110, 88, 160),
        ),
        "fifth": (
            (125, 13, 125, -20), (186, 32, 200, -20), (36, 55, 44, -20),
            (40, 104, 34, 160), (112, 118, 112, 160), (180, 104, 176, 160),
            (255, 64, 352, 20), (279, 92, 330, 118), (236, 126, 250, 160),
        ),
        "pickup": (
            (194, 44, 214, -20), (126, 78, 96, -6), (168, 56, 156, -20),
            (48, 108, 34, 160), (85, 115, 90, 160), (252, 80, 282, 12),
            (134, 110, 148, 160), (22, 106, -16, 118), (298, 84, 352, 60),
        ),
        "car": (
            (152, 56, 152, 12), (112, 84, 60, 24), (131, 70, 104, 6),
            (96, 104, 54, 160), (111, 117, 112, 160), (226, 84, 250, 24),
            (160, 110, 170, 160), (266, 108, 312, 118), (246, 88, 302, 60),
        ),
    }.items()
}  # fmt: skip
