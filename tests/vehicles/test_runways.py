"""Runways of a stay: the figures that a stay and its rig give to the bench.

Check values named B, T and F: `house_check_values.csv` in `tests/reference`.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.core.calculators.answers import CalculatorError
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.vehicles import services
from maintenance.vehicles.models import RunwaySetting, Stay, StayVisit
from maintenance.vehicles.rhythm import keep_visit, set_runways
from maintenance.vehicles.runways import StayRunways, charge_of
from tests import builders
from tests.builders import TODAY

D = Decimal
START = date(2026, 4, 1)
# 77 °F, where self-discharge is as published: 5 % a month of a flooded battery
WARM = {"usual": D(77), "lowest": D(0), "humidity": 50}


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def ways(setting, *visits, **fields):
    stay = Stay(start=START, **{**WARM, **fields})
    return StayRunways(stay, RunwaySetting(**setting), visits)


def likely(days):
    return round(float(days.likely.value), 2)


CHASSIS = {"chassis_capacity": D(100), "chassis_drain": D("0.05")}


def test_battery_runs_to_12_4_volts_as_in_row_b12():
    battery = ways(CHASSIS).batteries[0]

    assert likely(battery.connected.recharge) == pytest.approx(22.65, abs=0.05)
    assert battery.day(battery.connected.recharge.likely) == date(2026, 4, 23)


def test_disconnecting_shows_what_is_gained_as_in_row_b15():
    battery = ways(CHASSIS).batteries[0]

    assert likely(battery.disconnected.recharge) == pytest.approx(185.71, abs=0.05)


def test_house_battery_runs_to_half_as_in_row_b16():
    setting = {"house_capacity": D(200), "house_drain": D("0.25")}

    battery = ways(setting).batteries[0]

    assert likely(battery.connected.half) == pytest.approx(15.79, abs=0.05)


def test_cold_place_freezes_a_battery_before_it_is_empty():
    battery = ways(CHASSIS).batteries[0]

    half, freezing, empty = (
        likely(getattr(battery.connected, name))
        for name in ("half", "freezing", "empty")
    )
    # an off-road vehicle's manual: 25 % freezes at +3 °F, 50 % at -13 °F
    assert half < freezing < empty


def test_listed_drains_of_the_other_battery_do_not_count():
    drains = {
        "alarm_recent": {"battery": "house", "part": "1"},
        "modules_asleep": {"battery": "chassis", "part": "1"},
    }
    both = ways(
        {"house_capacity": D(100), "chassis_capacity": D(60), "drains": drains}
    ).batteries

    # loads_12v.csv: 17 mA, and 20 to 50 mA
    assert [one.drain.high for one in both] == [D("0.05"), D("0.017")]


def test_a_reading_takes_the_place_of_the_estimate():
    visit = StayVisit(on=START + timedelta(days=10), chassis="12.45 V")

    battery = ways(CHASSIS, visit).batteries[0]

    assert (battery.start, battery.charge) == (visit.on, D(75))  # row B3


def test_trap_dries_up_as_in_row_t13_and_shortens_the_monthly_flush():
    found = ways({}, usual=D(25), temperature_unit="°C")

    # the row's 20.6 d are for its rounded rate, within the ±2 % of row T8
    assert float(found.traps.earliest.value) == pytest.approx(20.6, rel=0.02)
    assert found.rhythm()["traps"] == {"days": 20}


def test_winterized_traps_have_no_runway():
    assert ways({}, winterized=True).traps is None


def test_frost_and_antifreeze_as_in_row_f5():
    bypassed = ways({"traps": 0})
    not_bypassed = ways({"traps": 0, "heater_bypassed": False})

    assert bypassed.frost.freezes
    more = not_bypassed.antifreeze.least.value - bypassed.antifreeze.least.value
    assert more == 6
    assert ways({}, lowest=D(40)).antifreeze is None


def test_propane_lasts_as_worked_in_the_reference():
    burns = [{"name": "Furnace", "btu": "30000", "duty": "0.3"}]

    hours = ways({"propane": D(20), "burns": burns}).propane

    assert float(hours.value) == pytest.approx(47.88, abs=0.01)


def test_without_figures_there_is_no_runway():
    bare = ways(CHASSIS, usual=None, lowest=None)

    assert (bare.batteries, bare.traps, bare.frost) == ((), None, None)
    assert bare.rhythm() == {}


@pytest.mark.parametrize(
    ("care", "asked"),
    [("connected", {"days": 22}), ("disconnected", {"days": 185}), ("charged", None)],
)
def test_rhythm_goes_by_how_the_batteries_are_kept(care, asked):
    rhythm = ways(CHASSIS, batteries=care).rhythm()

    assert rhythm.get("lead_battery") == asked


def test_of_two_batteries_the_one_to_be_seen_to_first_counts():
    house = {"house_capacity": D(100), "house_drain": D("0.1")}

    rhythm = ways(CHASSIS | house).rhythm()

    assert rhythm["lead_battery"] == {"days": 12}  # row B13


@pytest.mark.parametrize(
    ("text", "kind", "charge"),
    [
        ("12.45", "flooded", 75),  # rows B3, B5
        ("12,24 V", "flooded", 50),
        ("1.190", "flooded", 50),  # lead_acid_soc.csv
        ("60 %", "lifepo4", 60),
    ],
)
def test_state_of_a_battery_as_people_write_it(text, kind, charge):
    assert charge_of(text, kind) == charge


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("24", "flooded", "Enter 6 to 16 V"),
        ("130 %", "flooded", "Enter 0 to 100 %"),
        ("1.2", "agm", "Only flooded batteries"),
        ("13.2 V", "lifepo4", "Read its monitor"),
        ("full", "flooded", "isn't a number"),
    ],
)
def test_state_that_cannot_be_is_refused_with_the_reason(text, kind, said):
    with pytest.raises(CalculatorError, match=said):
        charge_of(text, kind)


# --- services -------------------------------------------------------------------------


def stored(rig, keeper, **fields):
    values = {**WARM, "start": START, **fields}
    return services.start_stay(rig, by=keeper, today=TODAY, **values)


def test_settings_set_the_rhythm_of_the_stay_that_is_open(rig, keeper):
    stay = stored(rig, keeper)

    set_runways(rig, by=keeper, today=TODAY, **CHASSIS)

    stay.refresh_from_db()
    assert stay.rhythm["lead_battery"] == {"days": 22}


def test_visit_said_again_for_its_day_is_replaced_and_sets_the_rhythm(rig, keeper):
    set_runways(rig, by=keeper, today=TODAY, **CHASSIS)
    stay = stored(rig, keeper)
    on = START + timedelta(days=10)
    for volts in ("12.65 V", "12.45 V"):
        keep_visit(stay, by=keeper, today=TODAY, on=on, chassis=volts)

    stay.refresh_from_db()
    asked = stay.rhythm["lead_battery"]
    # (75 - 69.05) Ah ÷ (24 · 0.05 + 5 / 30) Ah a day
    assert asked == {"days": 22, "read_on": on.isoformat(), "read_days": 4}
    assert stay.visits.count() == 1


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("chassis_capacity", D(0), "0 Ah can't be right. Enter 1 to 2,000 Ah"),
        ("house_drain", D(900), "Enter 0 to 500 A"),
        ("seal", D(2), "Enter 5 to 150 mm"),
    ],
)
def test_setting_that_cannot_be_is_refused_at_its_field(
    rig, keeper, field, value, said
):
    with pytest.raises(Refused, match=said) as refused:
        set_runways(rig, by=keeper, today=TODAY, **{field: value})

    assert refused.value.field == field
    assert not RunwaySetting.objects.exists()


def test_visit_outside_the_stay_is_refused(rig, keeper):
    stay = stored(rig, keeper)

    with pytest.raises(Refused, match="from Apr 1, 2026 to May 4, 2026"):
        keep_visit(stay, by=keeper, today=TODAY, on=date(2026, 3, 1))


def test_volts_that_cannot_be_are_refused_at_the_battery(rig, keeper):
    stay = stored(rig, keeper)

    with pytest.raises(Refused, match="6 to 16 V") as refused:
        keep_visit(stay, by=keeper, today=TODAY, on=START, house="24 V")

    assert refused.value.field == "house"


def test_lowest_above_usual_is_refused_there(rig, keeper):
    with pytest.raises(Refused) as refused:
        stored(rig, keeper, lowest=D(90))

    assert refused.value.field == "lowest"


def test_what_was_done_against_frost_says_whether_it_is_winterized(rig, keeper):
    stay = stored(rig, keeper, water="antifreeze")
    assert stay.winterized

    services.change_stay(stay, by=keeper, today=TODAY, water="heated")
    assert not stay.winterized


def test_viewer_keeps_no_visit_and_sets_no_runway(rig, keeper):
    stay = stored(rig, keeper)
    viewer = builders.make_member(rig.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        keep_visit(stay, by=viewer, today=TODAY, on=START)
    with pytest.raises(NotAllowed):
        set_runways(rig, by=viewer, today=TODAY, **CHASSIS)
