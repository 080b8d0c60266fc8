"""The library's other figures, each against its source or as common practice."""

import re
from decimal import Decimal

import pytest

from maintenance.core.facts import Span
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.library.model import PlaceLimit
from maintenance.library.proposals import resolve_triggers
from maintenance.library.reading import load_library
from tests.library.library_facts import (
    AS_OF,
    cited,
    closes,
    done,
    get,
    proposed,
    told,
    triggers,
)

# --- tires: 49 CFR 393.75, FMVSS 138, NHTSA -------------------------------------------


def test_tread_limits_are_those_of_49_cfr_393_75() -> None:
    """(b): 4/32 in on the front wheels of a bus or truck; (c): 2/32 in elsewhere."""
    assert "Limit: 2/32 in." in told("tire_condition")
    assert "Front tires of a heavy motorhome: 4/32 in." in told("tire_condition")
    for key in ("tire_condition", "tire_rotate", "tire_wear_pattern"):
        assert {one.low for one in get(key).measures} == {Decimal(2)}, key
    assert "393.75(b) and (c)" in cited("tire_condition", "tread")


def test_steer_tires_of_heavy_motor_vehicles_have_4_32_in_by_49_cfr_393_75_b() -> None:
    """It binds carriers alone: for a household's rig it is common practice."""
    for key in ("tire_condition", "tire_rotate", "tire_wear_pattern"):
        procedure = get(key)
        for measure in procedure.measures:
            steer = PlaceLimit(("LF", "RF"), Decimal(4), heavy=True)
            assert measure.limits_by_place == (steer,), key
        source = next(x for x in procedure.sources if x.of == "tread of steer tires")
        assert source.kind == "common practice"
        assert "393.75(b)" in source.text
        assert "over 10,000 lb GVWR" in source.text


def test_one_figure_says_from_where_on_a_tire_is_too_low() -> None:
    """29 CFR 1910.177(f)(4): a tire with more than 80 % may be filled on the vehicle.
    The lamp of a pressure monitor comes on later, at 25 % (FMVSS 138 S4.2(a))."""
    one = get("tire_pressure")
    assert "A tire a fifth or more below its figure" in one.unfit
    assert "driven a fifth or more below its figure" in one.cautions[0]
    assert "quarter" not in " ".join((one.unfit, *one.cautions))
    assert "1910.177(f)(4)" in cited("tire_pressure", "fifth")
    assert "FMVSS 138 S4.2(a)" in cited("tire_pressure", "quarter")


def test_rotation_lies_in_nhtsa_s_5000_to_8000_miles_and_pressure_is_monthly() -> None:
    rotate = next(one for one in triggers("tire_rotate") if type(one) is EveryMeter)
    assert 5000 <= rotate.interval <= 8000
    assert EveryTime(Span(days=30), in_use=True) in triggers("tire_pressure")


def test_the_date_code_is_read_as_49_cfr_574_5_b_3_says() -> None:
    """Two digits of week, two of year."""
    code = re.search(
        r"(\d\d)(\d\d) is the (\d+)rd week of (\d{4})", told("tire_age_review")
    )
    assert code
    assert (int(code[1]), 2000 + int(code[2])) == (int(code[3]), int(code[4]))


# --- house: figures with a published source -------------------------------------------


@pytest.mark.parametrize(
    ("key", "rule", "source"),
    [
        # TM 5-1185: stored batteries are recharged every 30 days.
        ("battery_stored_charge", {"while_stored": {"days": 30}}, "TM 5-1185"),
        # NFPA 54 (2006), 8.2.3: a leak check after the gas was interrupted.
        (
            "propane_leak_check",
            {"after": {"event": "propane_opened", "days": [0, 1]}},
            "NFPA 54 (2006), 8.2.3",
        ),
        # CPSC: ground-fault outlets are tested monthly.
        (
            "gfci_test",
            {"every": {"days": 30}, "clock": "in_use"},
            "Consumer Product Safety",
        ),
        # New Mexico State University, W-101: the inside of a tank yearly.
        ("fresh_tank_look", {"every": {"months": 12}}, "W-101"),
        # Princeton University, 2019: unused traps monthly.
        (
            "drain_traps",
            {"while_stored": {"days": 30, "unless_winterized": True}},
            "Princeton",
        ),
    ],
)
def test_published_interval_stands_in_the_rules(
    key: str, rule: dict, source: str
) -> None:
    assert rule in [dict(one) for one in get(key).triggers]
    assert source in cited(key, "interval")


@pytest.mark.parametrize(
    ("key", "figures", "source"),
    [
        ("pedestal_test", ("114 to 126 V",), "ANSI C84.1"),  # Range A: 120 V ± 5 %
        ("water_heater_relief_valve", ("150 psi", "210 °F"), "ANSI Z21.22"),
        ("sanitize_fresh_water", ("50 ppm", "24 at this strength"), "Plumbing Code"),
        ("tap_aerators", ("120 mg/L (7 grains per gallon)",), "Geological Survey"),
        ("fridge_precool", ("40 °F",), "Food and Drug Administration"),
        ("generator_exercise", ("20 ft",), "Florida Department of Health"),
        ("battery_rest_volts", ("12.65 V", "12.24 V"), "Battery Council"),
    ],
)
def test_published_figure_stands_in_the_words_and_is_cited(
    key: str, figures: tuple[str, ...], source: str
) -> None:
    published = " ".join(
        one.text for one in get(key).sources if one.kind == "published"
    )
    for figure in figures:
        assert figure in told(key), figure
    assert source in published


def test_bleach_for_ten_gallons_is_the_dilution_of_50_ppm() -> None:
    """V = tank x ppm / (percent x 10,000); a gallon is 128 fl oz. W1 to W3 for 50 gal:
    6.10, 5.33 and 3.88 fl oz."""
    said = re.findall(r"([\d.]+) fl oz of ([\d.]+)%", told("sanitize_fresh_water"))
    doses = {Decimal(percent): Decimal(ounces) for ounces, percent in said}
    assert set(doses) == {Decimal("5.25"), Decimal("6"), Decimal("8.25")}
    for percent, ounces in doses.items():
        exact = Decimal(10 * 128 * 50) / (percent * 10_000)
        assert abs(ounces - exact) <= Decimal("0.05"), percent


# --- overruns -------------------------------------------------------------------------


def test_only_papers_keep_their_date_when_done_late() -> None:
    anchored = {k for k, one in load_library().procedures.items() if one.anchored}

    assert anchored == {
        "registration_renewal",
        "insurance_renewal",
        "official_inspection",
        "roadside_cover",
    }


@pytest.mark.parametrize(
    "key", ["registration_renewal", "insurance_renewal", "official_inspection"]
)
def test_late_renewal_is_charged_to_the_next_year(key: str) -> None:
    """Common practice for papers: they run out on their own date. 14 CFR 91.409(b)
    charges an overrun to the next interval in the same way."""
    late = {"baseline": {"on": "2025-03-31"}, "done": done("2026-04-20")}
    rules = get(key).triggers

    assert closes(rules, AS_OF, anchored=get(key).anchored, **late) == "2027-03-31"


@pytest.mark.parametrize(
    ("anchored", "due"),
    [
        (False, 307),  # as the library has it: forgiven, as EASA AMC1 ML.A.302(d) does
        (True, 300),  # as 14 CFR 91.409(b) would have it
    ],
)
def test_late_generator_oil_is_forgiven_as_long_as_it_is_not_anchored(
    anchored: bool, due: int
) -> None:
    procedure = get("generator_oil")
    rules = [
        {"every": rule["every"]}  # past the first change, which comes earlier
        for rule in resolve_triggers(procedure, {"generator": "h"})
        if "hours" in rule["every"]
    ]
    late = {
        "hours": [["2026-10-01", 157]],
        "baseline": {"on": "2026-01-01", "generator": 0},
        "done": [{"on": "2026-10-01", "generator": 157}],
    }

    found = closes(rules, AS_OF, anchored=anchored, **late)

    assert not procedure.anchored
    assert found == {"meter": "generator", "value": due}


def test_generator_oil_is_due_at_150_hours_from_the_last() -> None:
    """N4: hours 412.0, last oil at 270.0, interval 150 h: due at 420.0 h."""
    rules = resolve_triggers(get("generator_oil"), {"generator": "h"})[:1]
    found = closes(
        rules,
        AS_OF,
        hours=[["2026-10-01", 412]],
        done=[{"on": "2026-01-01", "generator": 270}],
    )
    assert found == {"meter": "generator", "value": 420}


# --- common practice that must be told ----------------------------------------------


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("lug_recheck", "on the invoice of the shop that fitted the wheel"),
        ("probe_cleaning", "two thirds to three quarters full"),
        ("probe_cleaning", "powdered water softener"),
        ("probe_cleaning", "Drive back and forth"),
        ("probe_cleaning_two_stage", "with fresh water, leave it overnight"),
        ("black_valve_closed", "about two thirds full"),
        ("burner_nest_look", "web"),
        ("regulator_nest_look", "Nothing goes into the vent"),
        ("pump_strainer", "gasket that is pinched or left out draws air"),
        ("pump_strainer", "water is hard or gritty, do this every six months"),
        ("tap_aerators", "every six months"),
        ("drain_traps", "fresh water into each drain"),
        ("antenna_amplifier_off", "until its light is out"),
        ("hand_wash_look", "stones, bent radiator fins"),
        ("latches_hinges", "until the catch holds"),
        ("latches_hinges", "hinge and catch screws"),
    ],
)
def test_common_practice_is_told(key: str, words: str) -> None:
    assert words in told(key)


def test_probes_are_cleaned_with_a_bag_of_ice_of_2_5_to_5_lb() -> None:
    for key in ("probe_cleaning", "probe_cleaning_two_stage"):
        assert "A 2.5 to 5 lb bag of ice" in get(key).supplies


def test_two_stages_follow_storage_and_count_as_the_spring_cleaning() -> None:
    two = get("probe_cleaning_two_stage")
    assert list(two.triggers) == [{"storage_exit": {}}]
    assert two.renews == ("probe_cleaning",)


def test_valve_is_kept_closed_but_where_a_macerator_empties_the_tank() -> None:
    assert "black_valve_closed" in proposed("waste_tanks")
    assert "black_valve_closed" not in proposed("waste_tanks", "macerator")


def test_chassis_makers_three_weeks_stand_beside_our_two() -> None:
    texts = [source.text for source in get("chassis_battery_off").sources]
    assert "chassis makers often say 21 days" in texts
