"""The library alone says which component an item belongs to, which calculator it uses
and what calls for it: no Python outside it names a procedure."""

from maintenance.components.models import TYPES, ComponentKind
from maintenance.core.bench import extinguishers
from maintenance.plans.part_rules import procedures_for

# (kind, type) -> the items that go with it.
ITEMS_OF_PARTS = {
    ("tire", ""): {"tire_replace", "tire_age_review"},
    ("battery", "house"): {"house_battery_renew", "battery_rest_volts"},
    ("battery", "chassis"): {"chassis_battery_renew"},
    ("battery", "breakaway"): {"breakaway_battery_renew"},
    ("cylinder", "dot"): {"cylinder_requalification", "cylinder_look"},
    ("cylinder", "asme"): {"propane_tank_look"},
    ("alarm", "smoke"): {"smoke_alarm_renew", "smoke_alarm_test"},
    ("alarm", "co"): {"co_alarm_renew", "co_alarm_test"},
    ("alarm", "propane"): {"propane_alarm_renew", "propane_alarm_test"},
    ("alarm", "co_propane"): {"co_alarm_renew", "co_alarm_test", "propane_alarm_test"},
    ("alarm", "co_smoke"): {"co_alarm_renew", "co_alarm_test", "smoke_alarm_test"},
    ("hose", ""): {"propane_hose_renew"},
    ("regulator", ""): {"regulator_renew"},
    ("water_heater", ""): {
        "water_heater_anode",
        "water_heater_flush",
        "water_heater_relief_valve",
    },
    ("other", ""): set(),
}


def keys_for(kind: str, type_: str) -> set[str]:
    return {one.key for one in procedures_for(kind, type_)}


def test_each_part_has_the_items_of_its_kind_and_type() -> None:
    every = {
        (kind, type_)
        for kind in ComponentKind.values
        for type_ in TYPES.get(kind, ("",))
    }
    every -= {("extinguisher", type_) for type_ in extinguishers.KINDS}
    assert every == ITEMS_OF_PARTS.keys()
    for part, keys in ITEMS_OF_PARTS.items():
        assert keys_for(*part) == keys, part


def test_an_extinguisher_has_the_items_that_its_rules_ask_for() -> None:
    """29 CFR 1910.157(f) Table L-1 and (e)(4); NFPA 10-2018 7.3.6.3, as the core has
    them: what is not tested is replaced."""
    for type_, rules in extinguishers.KINDS.items():
        expected = {"extinguisher_look"}
        if rules.test_years is None:
            expected |= {"extinguisher_replace"}
        else:
            expected |= {f"extinguisher_test_{rules.test_years}", "extinguisher_yearly"}
        if rules.six_year:
            expected |= {"extinguisher_six_year"}
        assert keys_for("extinguisher", type_) == expected, type_
