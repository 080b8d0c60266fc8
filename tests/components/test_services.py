"""Components: added with their items, moved, put aside, scrapped, rotated."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.components.models import Component
from maintenance.components.queries import fittings_of, pasts_of, uses_of
from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans import services
from maintenance.plans.models import PlanItem, Standing
from maintenance.plans.standings import recheck
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Meter, MeterReplacement, Reading
from maintenance.vehicles.services import report_event
from tests import builders

TODAY = builders.TODAY
pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper():
    return builders.make_member()


@pytest.fixture
def coach(keeper):
    rig = builders.make_rig(keeper.household, name="Coach")
    builders.make_reading(rig, date(2025, 1, 1), 10000)
    builders.make_reading(rig, date(2026, 1, 1), 16000)
    return rig


@pytest.fixture
def van(keeper):
    meter = {"kind": "odometer", "unit": "km"}
    rig = builders.make_rig(keeper.household, name="Van", meter=meter)
    builders.make_reading(rig, date(2026, 1, 1), 80000)
    builders.make_reading(rig, date(2026, 5, 1), 83218)  # 1,999.6 mi on
    return rig


def add(rig, by, kind="cylinder", on=date(2025, 1, 1), keys=(), **fields):
    if kind == "cylinder":
        fields.setdefault("type", "dot")
    return services.add_part(
        rig, by=by, today=TODAY, kind=kind, on=on, keys=keys, **fields
    )


def standing(component, key):
    return Standing.objects.get(item__component=component, item__key=key)


def use_of(component):
    past = pasts_of(fittings_of([component.pk]), TODAY)
    return uses_of(component, past[component.pk], TODAY)[0]


@pytest.mark.parametrize(
    ("mark", "tested", "closes"),
    [
        pytest.param("new", "", "2031-05-31", id="D1 180.209(e)"),
        pytest.param("E", "2022-06", "2027-06-30", id="D2 180.209(g)"),
        pytest.param("S", "2020-04", "2030-04-30", id="D3 180.209(e)"),
        pytest.param("volumetric", "2020-04", "2032-04-30", id="D4 180.209(e)"),
    ],
)
def test_a_cylinders_mark_sets_its_requalification(keeper, coach, mark, tested, closes):
    made = add(
        coach,
        keeper,
        keys=["cylinder_requalification"],
        made="2019-05",
        mark=mark,
        tested=tested,
    )
    found = standing(made, "cylinder_requalification")
    assert found.result["window"]["closes"] == closes


def test_changing_the_mark_moves_the_window(keeper, coach):
    made = add(coach, keeper, keys=["cylinder_requalification"], made="2010-03")
    services.change_part(made, by=keeper, today=TODAY, mark="E", tested="2022-06")
    found = standing(made, "cylinder_requalification")
    assert found.result["window"]["closes"] == "2027-06-30"


@pytest.mark.parametrize(
    ("recharged", "closes"),
    [
        pytest.param("", "2026-03-31", id="E1 1910.157(e)(4)"),
        pytest.param("2025-07", "2031-07-31", id="E2 restarts at recharge"),
    ],
)
def test_an_extinguisher_is_emptied_every_six_years(keeper, coach, recharged, closes):
    made = add(
        coach,
        keeper,
        "extinguisher",
        type="dry_stored",
        made="2020-03",
        recharged=recharged,
        keys=["extinguisher_six_year", "extinguisher_test_12"],
    )
    six = standing(made, "extinguisher_six_year")
    assert six.result["window"]["closes"] == closes
    test = standing(made, "extinguisher_test_12")
    assert test.result["window"]["closes"] == "2032-03-31"


def test_an_alarm_lives_by_its_label(keeper, coach):
    """D8: made 2019-09, label 7 years."""
    made = add(
        coach,
        keeper,
        "alarm",
        type="co",
        made="2019-09",
        label_years=7,
        keys=["co_alarm_renew"],
    )
    window = standing(made, "co_alarm_renew").result["window"]
    assert window["closes"] == "2026-09-30"


def test_the_owners_own_years_stay(keeper, coach):
    rules = [{"life": {"years": 4}}]
    builders.make_item(coach, "co_alarm_renew", triggers=rules, rules_from="own")
    made = add(
        coach, keeper, "alarm", type="co", made="2022-09", keys=["co_alarm_renew"]
    )
    window = standing(made, "co_alarm_renew").result["window"]
    assert window["closes"] == "2026-09-30"


def test_a_rigs_item_becomes_the_parts_and_a_second_part_gets_its_own(keeper, coach):
    item = builders.make_item(coach, "cylinder_requalification")
    keys = ["cylinder_requalification"]
    first = add(coach, keeper, keys=keys, made="2019-05")
    second = add(coach, keeper, keys=keys, made="2020-05")
    item.refresh_from_db()
    assert item.component == first
    assert item.title.endswith(": Portable cylinder (DOT)")
    assert PlanItem.objects.filter(key=keys[0]).count() == 2
    assert second.plan_items.get().pk != item.pk


def test_a_tires_number_is_decoded_and_its_age_counts(keeper, coach):
    made = add(
        coach,
        keeper,
        "tire",
        place="LF",
        serial="dot 1abc23def2716",
        keys=["tire_replace"],
    )
    assert (made.serial, made.made) == ("1AB C23DEF 2716", "2016-07-03")
    found = standing(made, "tire_replace")
    assert found.result["window"]["closes"] == "2022-07-03"


@pytest.mark.parametrize(
    ("field", "fields"),
    [
        ("serial", {"kind": "tire", "serial": "1ABC23DEF5425"}),
        ("service", {"kind": "tire", "service": "121X"}),
        ("made", {"made": "5/2019"}),
        ("made", {"made": "2030-01"}),
        ("tested", {"mark": "S", "made": "2019-05"}),
        ("tested", {"mark": "S", "made": "2019-05", "tested": "2018-05"}),
        ("place", {"kind": "tire", "place": "L1"}),
        ("on", {"on": date(2026, 5, 5)}),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(keeper, coach, field, fields):
    with pytest.raises(Refused) as refused:
        add(coach, keeper, **fields)
    assert refused.value.field == field
    assert not Component.objects.exists()


def test_a_viewer_changes_nothing(keeper, coach):
    viewer = builders.make_member(keeper.household, Role.VIEWER)
    made = add(coach, keeper)
    with pytest.raises(NotAllowed):
        add(coach, viewer)
    with pytest.raises(NotAllowed):
        services.put_part_aside(made, by=viewer, today=TODAY, on=TODAY)


# --- moved ----------------------------------------------------------------------------


def move(component, by, rig, on=date(2026, 1, 1), **fields):
    return services.move_part(
        component, by=by, today=TODAY, rig=rig, place="", on=on, **fields
    )


def test_use_is_its_own_over_two_rigs(keeper, coach, van):
    made = add(coach, keeper, "other", name="Hub")
    move(made, keeper, van)
    assert abs(use_of(made).value - 8000) < 1  # 6,000 mi + 3,218 km


def every(item, distance, meter="odometer"):
    rule = {"every": {"distance": distance, "unit": "mi", "meter": meter}}
    return builders.make_item(item, "hub_look", triggers=[rule])


def test_distance_already_spent_counts_on_the_new_rig(keeper, coach, van):
    item = every(coach, 9000)
    item.completions.create(
        on=date(2025, 1, 1), outcome="done", values={"odometer": "10000"}
    )
    made = add(coach, keeper, "other", name="Hub")
    PlanItem.objects.filter(pk=item.pk).update(component=made)
    move(made, keeper, van, values={"odometer": Decimal(80000)})
    found = standing(made, "hub_look")
    closes = Decimal(str(found.result["window"]["closes"]["value"]))
    # 9,000 mi less the 6,000 on the coach are 3,000 mi or 4,828.0 km from 80,000.
    assert abs(closes - Decimal("84828.0")) <= Decimal("0.1")
    assert found.item.rig == van
    assert recheck(keeper.household, as_of=TODAY) == []


def test_a_meter_replaced_on_the_old_rig_loses_nothing(keeper, coach, van):
    odometer = coach.meters.get()
    MeterReplacement.objects.create(
        meter=odometer, on=date(2025, 7, 1), old_final=13000, new_start=0
    )
    Reading.objects.filter(meter=odometer, on=date(2026, 1, 1)).update(value=3000)
    made = add(coach, keeper, "other", name="Hub")
    move(made, keeper, van)
    assert abs(use_of(made).value - 8000) < 1


def test_an_item_goes_on_by_the_meter_that_the_new_rig_has(keeper, coach):
    trailer = builders.make_rig(
        keeper.household,
        name="Trailer",
        kind="travel_trailer",
        wheels="trailer_one",
        meter={"kind": "towed", "unit": "mi"},
    )
    item = every(coach, 9000)
    made = add(coach, keeper, "other", name="Hub")
    PlanItem.objects.filter(pk=item.pk).update(component=made)
    move(made, keeper, trailer)
    assert made.plan_items.get().triggers[0]["every"]["meter"] == "towed"


def test_a_rig_without_the_meter_is_refused(keeper, coach, van):
    Meter.objects.create(rig=coach, kind="generator", unit="h")
    rule = {"every": {"hours": 100, "meter": "generator"}}
    item = builders.make_item(coach, "own_look", triggers=[rule])
    made = add(coach, keeper, "other", name="Generator")
    PlanItem.objects.filter(pk=item.pk).update(component=made)
    with pytest.raises(Refused, match="no meter for that"):
        move(made, keeper, van)
    made.refresh_from_db()
    assert made.rig == coach
    assert made.fittings.count() == 1


def test_events_before_it_came_do_not_concern_it(keeper, coach, van):
    van.events.create(kind="battery_replaced", on=date(2025, 6, 1))
    rules = [{"after": {"event": "battery_replaced", "days": [0, 1]}}]
    item = builders.make_item(coach, "look_at_it", triggers=rules)
    made = add(coach, keeper, "battery", type="house")
    PlanItem.objects.filter(pk=item.pk).update(component=made)
    move(made, keeper, van)
    assert standing(made, "look_at_it").standing == "waiting"


def test_a_replaced_battery_starts_anew_and_the_old_one_keeps_its_age(
    keeper, coach, van
):
    keys = ["house_battery_renew", "battery_rest_volts"]
    old = add(coach, keeper, "battery", type="house", made="2021-05", keys=keys)
    assert standing(old, "house_battery_renew").closes_on == date(2026, 5, 31)
    renewing = PlanItem.objects.get(key="house_battery_renew")
    services.put_part_aside(old, by=keeper, today=TODAY, on=date(2026, 4, 10))
    new = add(coach, keeper, "battery", type="house", on=date(2026, 4, 10), keys=keys)
    report_event(
        coach,
        by=keeper,
        today=TODAY,
        kind="house_battery_replaced",
        on=date(2026, 4, 10),
    )

    # Thirty days of use from its first day, though nobody measured yet.
    assert standing(new, "battery_rest_volts").closes_on == date(2026, 5, 10)
    move(old, keeper, van, on=TODAY)
    renewing.refresh_from_db()
    assert (renewing.component, renewing.rig) == (old, van)
    assert standing(old, "house_battery_renew").closes_on == date(2026, 5, 31)
    assert recheck(keeper.household, as_of=TODAY) == []


def test_of_two_batteries_an_event_renews_neither(keeper, coach):
    """Each is known by itself; the event does not tell which it was."""
    for place, made in (("left", "2021-05"), ("right", "2023-05")):
        add(
            coach,
            keeper,
            "battery",
            type="house",
            made=made,
            place=place,
            keys=["house_battery_renew"],
        )
    report_event(coach, by=keeper, today=TODAY, kind="house_battery_replaced", on=TODAY)

    days = {row.closes_on for row in Standing.objects.all()}
    assert days == {date(2026, 5, 31), date(2028, 5, 31)}


def test_a_battery_that_came_later_is_not_renewed_by_one_before_it(keeper, coach, van):
    van.events.create(kind="house_battery_replaced", on=date(2026, 2, 1))
    old = add(coach, keeper, "battery", type="house", keys=["battery_rest_volts"])
    item = PlanItem.objects.get(key="battery_rest_volts")
    item.completions.create(on=date(2026, 1, 1), outcome="done")
    move(old, keeper, van, on=date(2026, 3, 1))

    assert standing(old, "battery_rest_volts").closes_on == date(2026, 1, 31)


def test_recorded_work_on_a_battery_renews_its_age(keeper, coach):
    life = [{"life": {"years": 5, "from": "2021-05"}}]
    item = builders.make_item(coach, "house_battery_renew", triggers=life)
    check = [{"after": {"event": "battery_replaced", "days": [0, 1]}}]
    builders.make_item(coach, "battery_new_check", triggers=check, safety=True)

    line = Line("Batteries", item)
    builders.log_work(coach, by=keeper, on=date(2026, 4, 10), lines=[line])

    assert item.standing.closes_on == date(2031, 4, 10)
    assert Standing.objects.get(item__key="battery_new_check").standing == "overdue"
    assert recheck(keeper.household, as_of=TODAY) == []


def test_put_aside_it_is_silent_and_fitted_again_it_counts(keeper, coach, van):
    made = add(coach, keeper, keys=["cylinder_requalification"], made="2014-05")
    services.put_part_aside(made, by=keeper, today=TODAY, on=date(2025, 6, 1))
    assert not Standing.objects.exists()
    assert recheck(keeper.household, as_of=TODAY) == []
    move(made, keeper, van)
    assert standing(made, "cylinder_requalification").standing == "due"
    assert [f.rig.name for f in made.fittings.all()] == ["Coach", "Van"]


def test_scrapped_it_is_off_the_plan_with_the_reason(keeper, coach):
    made = add(coach, keeper, keys=["cylinder_requalification"], made="2014-05")
    with pytest.raises(Refused):
        services.put_part_aside(made, by=keeper, today=TODAY, on=TODAY, scrap=True)
    services.put_part_aside(
        made, by=keeper, today=TODAY, on=TODAY, scrap=True, why="dented"
    )
    assert made.plan_items.get().why_dropped == "scrapped: dented"
    with pytest.raises(Refused, match="scrapped"):
        move(made, keeper, coach)


def test_it_cannot_leave_before_it_came(keeper, coach, van):
    made = add(coach, keeper)
    with pytest.raises(Refused) as refused:
        move(made, keeper, van, on=date(2024, 12, 31))
    assert refused.value.field == "on"


# --- tires ----------------------------------------------------------------------------


@pytest.fixture
def tires(keeper, coach):
    places = ("LF", "RF", "LR", "RR", "SPARE")
    return {p: add(coach, keeper, "tire", place=p, serial="3819") for p in places}


def rotate(rig, by, tires, **new):
    places = {tires[old]: to for old, to in new.items()}
    return services.rotate_tires(rig, by=by, today=TODAY, on=TODAY, places=places)


def test_rotation_is_one_action_and_tells_the_wheels_touched(keeper, coach, tires):
    assert rotate(coach, keeper, tires, LF="LR", LR="LF") == ["LF", "LR"]
    now = dict(coach.components.values_list("place", "pk"))
    assert now["LR"] == tires["LF"].pk
    assert now["RF"] == tires["RF"].pk
    assert tires["LF"].fittings.count() == 2


def test_the_spare_takes_part(keeper, coach, tires):
    touched = rotate(coach, keeper, tires, SPARE="RR", RR="SPARE")
    assert touched == ["RR"]


def test_two_tires_at_one_place_are_refused(keeper, coach, tires):
    with pytest.raises(Refused, match="Two tires"):
        rotate(coach, keeper, tires, LF="RF")
    with pytest.raises(Refused, match="no wheel"):
        rotate(coach, keeper, tires, LF="LT")
    assert set(coach.components.values_list("place", flat=True)) == set(tires)


def test_a_place_that_is_taken_is_refused(keeper, coach, tires):
    with pytest.raises(Refused) as refused:
        add(coach, keeper, "tire", place="LF")
    assert refused.value.field == "place"


def test_rotating_does_not_break_its_time_on_the_rig(keeper, coach, tires):
    rotate(coach, keeper, tires, LF="RF", RF="LF")
    assert use_of(tires["LF"]).value == 6000
    assert recheck(keeper.household, as_of=TODAY) == []
