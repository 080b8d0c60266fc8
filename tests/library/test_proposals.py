"""What a rig should take on, the reason in words, and rules on the rig's own meters."""

import json

import pytest

from maintenance.core.facts import Unit
from maintenance.core.triggers import parse_triggers
from maintenance.library.model import EVERY_KIND, Equipment
from maintenance.library.proposals import left_out, propose, resolve_triggers
from maintenance.library.reading import load_library
from maintenance.vehicles.models import RigKind

METERS: dict[str, Unit] = {
    "odometer": "mi",
    "engine": "h",
    "generator": "h",
    "towed": "mi",
}


def usual(kind: str) -> set[str]:
    equipment = load_library().equipment.values()
    return {one.key for one in equipment if one.is_usual(kind, None)}


def reasons(
    kind: str, *extra: str, meters: tuple[str, ...] = ("odometer",)
) -> dict[str, str]:
    found = propose(
        load_library(), kind=kind, equipment=usual(kind) | set(extra), meters=meters
    )
    return {one.procedure.key: one.because for one in found}


def why_not(
    key: str, kind: str, *extra: str, meters: tuple[str, ...] = ("odometer",)
) -> str:
    found = left_out(
        load_library(), kind=kind, equipment=usual(kind) | set(extra), meters=meters
    )
    return {one.procedure.key: one.because for one in found}.get(key, "is in")


def test_the_reason_names_kind_and_equipment() -> None:
    trailer = reasons("travel_trailer", meters=("towed",))
    assert trailer["lug_recheck"] == "because every rig needs it"
    assert trailer["lug_steps_trailer"] == "because it's a travel trailer"
    assert trailer["brake_adjust"] == (
        "because it's a travel trailer and it has electric drum brakes"
    )


def test_dual_wheels_bring_their_second_check() -> None:
    assert "lug_recheck_dual" not in reasons("motorhome")
    found = reasons("motorhome", "dual_rear_wheels")
    assert found["lug_recheck_dual"] == "because it has dual rear wheels"
    assert "lug_recheck" in found


def test_what_does_not_fit_says_why_not() -> None:
    assert why_not("lug_steps_trailer", "motorhome") == "it isn't for a motorhome"
    assert why_not("air_dryer", "motorhome") == "the rig doesn't have air brakes"
    assert why_not("brake_inspect_trailer", "motorhome") == "it isn't for a motorhome"
    assert why_not("lug_recheck", "motorhome", meters=()) == (
        "the rig doesn't have a meter for distance"
    )


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_each_procedure_is_either_proposed_or_left_out(kind: str) -> None:
    library = load_library()
    inside, outside = (
        {
            one.procedure.key
            for one in find(
                library, kind=kind, equipment=usual(kind), meters=["odometer"]
            )
        }
        for find in (propose, left_out)
    )
    assert inside | outside == set(library.procedures)
    assert not inside & outside
    assert ("lug_recheck" in inside) == (kind != "truck_camper")


@pytest.mark.parametrize(
    ("year", "has"), [(2004, False), (2015, True), (2018, True), (2019, False)]
)
def test_equipment_is_usual_in_rigs_of_its_years(year: int, has: bool) -> None:
    kinds = ("campervan",)
    one = Equipment("x", "X", "an x", "Body", kinds, usual_from=2015, usual_to=2018)

    assert one.is_usual("campervan", year) == has
    assert not one.is_usual("motorhome", year)


@pytest.mark.parametrize(
    ("usual_from", "usual_to", "has"),
    [(0, 0, True), (2015, 0, True), (0, 2018, False), (2015, 2018, False)],
)
def test_rig_of_unknown_year_counts_as_new(
    usual_from: int, usual_to: int, has: bool
) -> None:
    one = Equipment("x", "X", "an x", "Body", ("campervan",), usual_from, usual_to)

    assert one.is_usual("campervan", None) == has


def test_library_knows_the_kinds_that_a_rig_can_be() -> None:
    assert set(EVERY_KIND) == set(RigKind.values)


def test_each_kind_of_rig_has_equipment_that_is_usual() -> None:
    assert all(usual(kind) for kind in EVERY_KIND)


def test_distance_becomes_the_odometer_or_the_towed_distance() -> None:
    procedure = load_library().procedures["lug_recheck"]
    for meters, own in ((["odometer", "towed"], "odometer"), (["towed"], "towed")):
        rules = resolve_triggers(procedure, dict.fromkeys(meters, "mi"))
        assert {rule["after"]["meter"] for rule in rules} == {own}
    assert procedure.triggers[0]["after"]["meter"] == "distance"  # the library's stays


def test_rules_on_a_meter_that_the_rig_lacks_are_left_out() -> None:
    procedure = load_library().procedures["bearing_repack"]
    assert resolve_triggers(procedure, {}) == [
        {"every": {"months": 12}, "clock": "calendar"}
    ]


def test_rules_keep_first_and_severe() -> None:
    procedure = load_library().procedures["brake_adjust"]
    rule = resolve_triggers(procedure, {"towed": "mi"})[0]
    assert rule["first"] == {"distance": 200}
    assert rule["every"]["meter"] == "towed"


def test_every_rule_of_the_library_is_one_of_a_case_file() -> None:
    for procedure in load_library().procedures.values():
        rules = resolve_triggers(procedure, METERS)
        assert len(rules) == len(procedure.triggers), procedure.key
        parse_triggers(list(rules), procedure.key, units=METERS)
        json.dumps(rules)  # they are stored so


def test_work_done_when_needed_is_proposed_without_a_rule() -> None:
    found = reasons("tow_vehicle", meters=())
    assert found["wheel_change"] == "because it's a tow vehicle"
    assert resolve_triggers(load_library().procedures["wheel_change"], {}) == []
