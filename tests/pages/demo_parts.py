"""A story of one rig, told in a moment, for tests of what is done around it."""

from pathlib import Path

HOUSEHOLD = """
name = "Two Gate Lane"
timezone = "America/Los_Angeles"
since = -400
rigs = ["pickup"]

[[members]]
role = "keeper"
name = "Mara"
username = "demo-keeper"
email = "mara@example.org"

[[members]]
role = "viewer"
name = "Elsie"
username = "demo-viewer"
email = "elsie@example.org"

[[members]]
role = "crew"
name = "Tobin"
username = "demo-crew"
email = "tobin@example.org"
"""
PICKUP = """
name = "Mule pickup"
kind = "tow_vehicle"
wheels = "four"
in_service = -900
adopted = -390
equipment = ["hydraulic_brakes", "chassis_battery"]
why_left = "The shop does it."

[meters.odometer]
unit = "mi"
readings = [[-390, 20000], [-100, 29000], [-1, 32000]]

[[works]]
days = [-90]
at = { odometer = 29300 }
done = ["tire_pressure"]
lines = [{ key = "walk_lights", outcome = "fault_found", note = "dark", finding = "x" }]
proof = ["wheel.jpg"]

[[works]]
days = [-80]
lines = [{ title = "Bulb renewed" }]
fixes = ["x"]

[[works]]
days = [-70]
late = 44
done = ["hand_wash_look"]
"""


def write_small_story(folder: Path, photo: bytes) -> Path:
    for name in ("photos", "invoices"):
        (folder / name).mkdir(parents=True)
    (folder / "household.toml").write_text(HOUSEHOLD)
    (folder / "rounds.toml").write_text("")
    (folder / "pickup.toml").write_text(PICKUP)
    (folder / "photos" / "wheel.jpg").write_bytes(photo)
    return folder
