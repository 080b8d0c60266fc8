"""The places that an owner has to find, and the procedures that need them."""

from pathlib import Path

import pytest

from maintenance.library.errors import LibraryError
from maintenance.library.reading import load_library, read_library
from tests.library.test_reading import EQUIPMENT, LIBRARY, PROCEDURE

SPOT = {
    "key": '"engine_service"',
    "title": '"Dipstick"',
    "often": '"Under the hood."',
    "procedures": '["engine_oil"]',
}


def library_with(folder: Path, **changed: str) -> Path:
    (folder / "library.toml").write_text(LIBRARY)
    (folder / "equipment.toml").write_text(EQUIPMENT)
    engine = ["[[procedure]]", *(f"{k} = {v}" for k, v in PROCEDURE.items())]
    head = ['system = "engine"', 'title = "Engine"']
    (folder / "engine.toml").write_text("\n".join(head + engine))
    spot = ["[[spot]]", *(f"{k} = {v}" for k, v in (SPOT | changed).items())]
    (folder / "spots.toml").write_text("\n".join(spot))
    (folder / "lap.toml").write_text("stop = []\n")
    (folder / "stay.toml").write_text("place = []\n")
    return folder


def test_spot_is_read_whole(tmp_path: Path) -> None:
    spot = read_library(library_with(tmp_path)).spots["engine_service"]

    assert (spot.title, spot.procedures) == ("Dipstick", ("engine_oil",))


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("often", '""', "often: must be a text"),
        ("procedures", "[]", "procedures: must name at least one procedure"),
        ("procedures", '["engine_oli"]', 'procedures: "engine_oli" is not a procedure'),
        ("equipment_any", '["generatr"]', 'did you mean "generator"?'),
        ("where", '"x"', 'unknown key "where"'),
    ],
)
def test_wrong_field_is_refused_with_file_key_and_field(
    tmp_path: Path, field: str, value: str, words: str
) -> None:
    with pytest.raises(LibraryError) as caught:
        read_library(library_with(tmp_path, **{field: value}))

    assert str(caught.value).startswith("spots.toml: engine_service: ")
    assert words in str(caught.value)


def test_missing_file_is_named(tmp_path: Path) -> None:
    folder = library_with(tmp_path)
    (folder / "spots.toml").unlink()

    with pytest.raises(LibraryError, match=r"^spots\.toml: No such file"):
        read_library(folder)


@pytest.mark.parametrize(
    ("spot", "procedure"),
    [
        ("water_pump", "pump_strainer"),
        ("house_battery_switch", "house_battery_off"),
        ("chassis_battery_switch", "chassis_battery_off"),
        ("heater_bypass", "winterize"),
        ("low_drains", "winterize"),
        ("fuses_12v", "walk_lights"),
        ("drain_list", "drain_traps"),
        ("propane_valve", "propane_off_travel"),
        ("waste_valves", "waste_tanks_empty"),
    ],
)
def test_what_is_hard_to_find_is_asked_for(spot: str, procedure: str) -> None:
    assert procedure in load_library().spots[spot].procedures
