"""The library itself: what must be in it and right, and what must never be."""

import re
from collections.abc import Callable
from decimal import Decimal

import pytest

from maintenance.core.facts import Span, Trigger, Unit
from maintenance.core.triggers import parse_triggers
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.life import Life
from maintenance.core.triggers.kinds.season import Season
from maintenance.core.triggers.kinds.storage_entry import StorageEntry
from maintenance.core.triggers.kinds.while_stored import WhileStored
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.vehicles.models import TRAILERS, RigKind

SYSTEMS = {
    "wheels-tires",
    "brakes-bearings",
    "steering-suspension",
    "chassis-engine",
    "hitch-tow",
    "power-12v",
    "power-120v-generator",
    "propane",
    "fridge-cooking",
    "furnace-ac",
    "water-heater",
    "fresh-water",
    "waste",
    "roof-seals",
    "slides-awnings",
    "body-doors",
    "interior-safety",
    "storage-entry",
    "storage-watch",
    "storage-exit",
    "walk-around",
    "papers",
}


def get(key: str) -> Procedure:
    return load_library().procedures[key]


def triggers(key: str) -> tuple[Trigger, ...]:
    return parse_triggers(list(get(key).triggers), key)


def limits(key: str) -> dict[str, tuple[object, object]]:
    return {one.name: (one.low, one.high) for one in get(key).measures}


def after(event: str, *checks: tuple[int, int], unit: Unit = "mi") -> After:
    pairs = tuple((Decimal(low), Decimal(high)) for low, high in checks)
    return After(event, pairs, "distance", unit)


def told(procedure: Procedure) -> str:
    return " ".join((*procedure.cautions, *procedure.steps))


def test_it_covers_every_system_with_at_least_120_procedures() -> None:
    library = load_library()
    assert set(library.systems) == SYSTEMS
    assert {one.system for one in library.procedures.values()} == SYSTEMS
    assert len(library.procedures) >= 120


# --- common practice ------------------------------------------------------------------


def test_lug_recheck_is_due_50_to_100_miles_after_a_wheel_was_off() -> None:
    procedure = get("lug_recheck")
    assert procedure.safety
    assert procedure.unfit_when_overdue
    assert (procedure.kinds, procedure.equipment, procedure.without) == ((), (), ())
    assert procedure.not_kinds == ("truck_camper",)  # it has no wheels of its own
    assert after("wheel_off", (50, 100)) in triggers("lug_recheck")
    assert after("new_wheel", (50, 100)) in triggers("lug_recheck")


@pytest.mark.parametrize("key", ["lug_recheck", "lug_steps_trailer", "wheel_change"])
def test_the_lug_wrench_reaches_125_and_covers_the_figure(key: str) -> None:
    wrench = next(tool for tool in get(key).tools if "orque wrench" in tool)
    assert "half-inch drive" in wrench
    assert "at least 125 ft·lbf and covers your figure" in wrench


def test_the_lug_figure_is_the_invoice_s_and_the_shop_settles_a_difference() -> None:
    text = told(get("lug_recheck"))
    assert "figure on the invoice of the shop that fitted the wheel" in text
    assert "ask the shop before you drive on" in text
    assert "Let the wheels get cold first" in text
    assert "star" in text


def test_dual_wheels_and_trailers_have_their_own_further_checks() -> None:
    assert after("wheel_off", (450, 500)) in triggers("lug_recheck_dual")
    assert get("lug_recheck_dual").equipment == ("dual_rear_wheels",)
    steps = after("wheel_off", (5, 10), (20, 25), (40, 50))
    assert steps in triggers("lug_steps_trailer")
    trailers = TRAILERS - {RigKind.TRUCK_CAMPER}  # it has no wheels of its own
    assert set(get("lug_steps_trailer").kinds) == trailers


def test_work_that_takes_wheels_off_raises_the_lug_recheck() -> None:
    raising = {
        key
        for key, one in load_library().procedures.items()
        if "wheel_off" in one.raises
    }
    assert raising == {
        "bearing_repack",
        "bearing_after_water",
        "brake_inspect_trailer",
        "brake_inspect_motor",
        "tire_replace",
        "tire_rotate",
        "wheel_change",
    }
    for key in raising:
        assert "lug" in told(get(key)), key


def test_storage_of_the_chassis_battery_starts_at_two_weeks() -> None:
    assert StorageEntry(by_day=14, lead=0) in triggers("chassis_battery_off")


def test_traps_are_flushed_monthly_unless_winterized() -> None:
    assert WhileStored(30, unless_winterized=True) in triggers("drain_traps")


def test_probes_are_cleaned_in_spring_in_autumn_and_before_storage() -> None:
    found = triggers("probe_cleaning")
    assert {Season("spring"), Season("autumn")} <= set(found)
    assert any(isinstance(one, StorageEntry) for one in found)


def test_fresh_oil_before_three_months_of_storage_is_an_oil_service() -> None:
    assert triggers("engine_oil_before_storage") == (StorageEntry(90, 14),)
    assert get("engine_oil_before_storage").renews == ("engine_oil",)


def test_uneven_wear_points_at_the_front_end_and_the_wash_at_the_radiator() -> None:
    assert "front end" in get("tire_wear_pattern").why
    assert "radiator fins" in told(get("hand_wash_look"))
    assert get("hand_wash_look").renews == ("radiator_look",)


def test_new_trailers_have_first_services() -> None:
    adjust = next(one for one in triggers("brake_adjust") if type(one) is EveryMeter)
    assert [adjust.first, adjust.interval] == [200, 3000]
    springs = next(
        one for one in triggers("spring_fasteners") if type(one) is EveryMeter
    )
    assert [springs.first, springs.interval] == [1000, 6000]


# --- published figures ----------------------------------------------------------------


def test_tread_limit_is_that_of_49_cfr_393_75_c() -> None:
    assert limits("tire_condition")["tread"] == (2, None)  # 2/32 in


def test_air_brake_limits_are_those_of_the_model_cdl_manual_5_3() -> None:
    assert limits("air_brake_test") == {
        "loss with brakes released": (None, 2),  # psi a minute, single vehicle
        "loss with pedal pressed": (None, 3),
        "low-air warning": (60, None),
        "spring brakes come on": (20, 45),
    }


def test_cylinders_are_requalified_after_12_years_49_cfr_180_209_e() -> None:
    assert triggers("cylinder_requalification") == (Life(Span(months=144), None),)


def test_smoke_alarms_live_10_years_nfpa_72() -> None:
    assert triggers("smoke_alarm_renew") == (Life(Span(months=120), None),)


def test_extinguisher_intervals_29_cfr_1910_157_e() -> None:
    assert EveryTime(Span(months=1)) in triggers("extinguisher_look")  # (e)(2)
    assert EveryTime(Span(months=12)) in triggers("extinguisher_yearly")  # (e)(3)
    assert triggers("extinguisher_six_year")[0] in (  # (e)(4)
        EveryTime(Span(months=72)),
        Life(Span(months=72), None),
    )


def test_extinguisher_tests_table_l_1_of_29_cfr_1910_157_f() -> None:
    assert triggers("extinguisher_test_12") == (Life(Span(months=144), None),)
    assert triggers("extinguisher_test_5") == (Life(Span(months=60), None),)


# --- safety ---------------------------------------------------------------------------


def offenders(offends: Callable[[Procedure], object]) -> list[str]:
    return [key for key, one in load_library().procedures.items() if offends(one)]


def test_repairs_of_brakes_bearings_and_frame_are_a_shop_s() -> None:
    for key in (
        "bearing_repack",
        "bearing_after_water",
        "brake_adjust",
        "brake_inspect_trailer",
        "brake_inspect_motor",
        "brake_fluid",
        "air_dryer",
        "alignment",
        "spring_fasteners",
        "collision_check",
        "tire_replace",
        "tire_rotate",
    ):
        assert get(key).who == "shop", key


def test_an_owner_never_lifts_the_rig_or_goes_under_it() -> None:
    lifting = re.compile(
        r"\b(jack (it |the rig )?up|lift the (rig|trailer)|crawl|lie under|go under)\b",
        re.IGNORECASE,
    )
    assert not offenders(
        lambda one: one.who == "owner" and lifting.search(" ".join(one.steps))
    )


def test_no_step_closes_a_vent() -> None:
    closing = re.compile(
        r"\b(cover|block|close|seal|plug|stuff|tape)(s|ed)?\b[^.:]*"
        r"\b(combustion|exhaust|regulator vent|furnace|heater vent|intake)\b",
        re.IGNORECASE,
    )
    assert not offenders(
        lambda one: closing.search(" ".join((*one.steps, *one.supplies)))
    )


def test_what_is_not_plain_has_cautions() -> None:
    assert not offenders(
        lambda one: (one.who != "owner" or one.unfit or one.raises) and not one.cautions
    )


# --- words ----------------------------------------------------------------------------


def every_word(procedure: Procedure) -> str:
    words = [procedure.title, procedure.why, procedure.unfit, told(procedure)]
    words += [*procedure.tools, *procedure.supplies]
    words += [f"{source.of} {source.text}" for source in procedure.sources]
    return " ".join(words)


def test_it_is_written_in_american_english() -> None:
    british = re.compile(
        r"\b(tyres?|colours?|kerbs?|petrol|winteris\w+|sanitis\w+|grey"
        r"|(milli|centi)?metres|litres?|aluminium|licences?|bonnet|windscreen|moulds?"
        r"|levell\w+|depressuris\w+|recognis\w+|organis\w+|practise\w*|mould\w*)\b",
        re.IGNORECASE,
    )
    assert not offenders(lambda one: british.search(every_word(one)))


def test_no_trade_page_is_cited() -> None:
    assert not offenders(lambda one: re.search(r"\b[PQ]\d\d\b", every_word(one)))
