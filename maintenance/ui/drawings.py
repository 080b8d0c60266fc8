"""Which drawing stands for a kind of rig. Six are drawn from the side; a kind without
one of its own takes the nearest."""

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
