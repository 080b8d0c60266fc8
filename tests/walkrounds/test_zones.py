from collections.abc import Iterator

import pytest

from maintenance.findings import zones
from maintenance.library.model import EVERY_KIND
from maintenance.library.reading import load_library
from maintenance.vehicles.models import Rig


def rig(kind, equipment=()):
    return Rig(kind=kind, wheels="four", equipment=list(equipment))


def keys(kind, equipment=()):
    return [zone.key for zone in zones.zones_of(rig(kind, equipment))]


def texts(kind, zone, equipment=()):
    found = zones.zone_of(rig(kind, equipment), zone)
    return " ".join((*found.cautions, *found.look))


def every_words() -> Iterator[zones.Words]:
    for entry in zones.entries():
        yield from (*entry.cautions, *entry.look)


# What a kind of rig does not have.
LACKING = {"truck_camper": {"wheels"}, "tow_dolly": {"roof", "inside"}}


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_every_kind_has_the_zones_that_any_rig_has(kind):
    common = {"front", "left", "rear", "right", "roof", "wheels", "underside", "inside"}

    assert common - set(keys(kind)) == LACKING.get(kind, set())
    assert all(zone.look for zone in zones.zones_of(rig(kind)))


@pytest.mark.parametrize(
    ("kind", "equipment", "has"),
    [
        ("towed_car", (), False),
        ("tow_vehicle", (), False),
        ("motorhome", (), True),  # nothing told yet: it is asked for
        ("campervan", ("solar",), False),
        ("campervan", ("fresh_water",), True),
    ],
)
def test_tanks_are_looked_at_where_a_rig_has_them(kind, equipment, has):
    assert ("tanks" in keys(kind, equipment)) is has


@pytest.mark.parametrize(
    ("kind", "equipment", "has"),
    [
        ("fifth_wheel", (), True),
        ("towed_car", (), True),
        ("motorhome", (), False),
        ("motorhome", ("tow_bar",), True),
    ],
)
def test_hitch_is_looked_at_where_a_rig_has_one(kind, equipment, has):
    assert ("hitch" in keys(kind, equipment)) is has


def test_radiator_is_looked_for_where_there_is_one():
    assert "radiator fins" in texts("motorhome", "front")
    assert "radiator" not in texts("travel_trailer", "front")


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_roof_and_underside_say_what_kills(kind):
    if "roof" not in LACKING.get(kind, ()):
        assert "not made to be walked on" in texts(kind, "roof")
    assert "Never go under one that stands on a jack alone" in texts(kind, "underside")


def test_words_for_equipment_wait_until_the_rig_has_it():
    assert "Awning" in texts("motorhome", "left", ["awning"])
    assert "Awning" not in texts("motorhome", "left", ["solar"])


def test_what_the_data_names_exists_in_the_library():
    library = load_library()
    answers = {key for entry in zones.entries() for key in entry.answers}
    needs = {need for words in every_words() for need in words.needs}
    of_zones = {n for e in zones.entries() for n in (*e.needs, *e.or_needs)}
    kinds = {kind for words in every_words() for kind in words.kinds}

    assert answers | set(zones.whole_round()) <= set(library.procedures)
    assert needs | of_zones <= set(library.equipment)
    assert kinds <= set(EVERY_KIND)
    assert {entry.system for entry in zones.entries()} <= set(library.systems)
