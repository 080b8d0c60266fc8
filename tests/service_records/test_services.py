from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Completion
from maintenance.plans.services import take_on
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.services import void_record
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Event, Reading
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=date(2026, 1, 1), keys=["engine_oil", "lug_recheck"])
    return rig


def item(rig, key):
    return rig.plan_items.get(key=key)


def log(rig, by, *lines, **more):
    more = {"on": date(2026, 5, 1), "doer": "Bay Street Garage"} | more
    more.setdefault("form_token", uuid4())
    return builders.log_work(rig, by=by, today=TODAY, lines=lines, **more)


def wheel_service(rig, by, **more):
    off = Wheels(off=frozenset({"LF", "LR"}))
    values = {"odometer": Decimal(42310)}
    return log(rig, by, Line("Two tires"), wheels=off, values=values, **more)


def test_done_line_completes_its_item_and_renews_the_standing(keeper, rig):
    oil = item(rig, "engine_oil")

    log(rig, keeper, Line(oil.title, oil), values={"odometer": Decimal(42310)})

    oil.refresh_from_db()
    assert oil.completions.get().values == {"odometer": "42310"}
    assert oil.standing.standing == "later"


@pytest.mark.parametrize("outcome", ["fault_found", "not_done"])
def test_line_that_renews_nothing_completes_nothing(keeper, rig, outcome):
    oil = item(rig, "engine_oil")

    log(rig, keeper, Line(oil.title, oil, outcome, "plug stripped"))

    assert not Completion.objects.exists()


def test_wheels_off_raise_the_recheck_for_just_those_wheels(keeper, rig):
    wheel_service(rig, keeper)

    event = Event.objects.get()
    assert (event.kind, event.places) == ("wheel_off", ["LF", "LR"])
    standing = item(rig, "lug_recheck").standing
    assert standing.result["pending"][0]["places"] == ["LF", "LR"]
    # Common practice: re-check within about 100 miles, here from 50 on.
    assert standing.result["window"]["opens"] == {"meter": "odometer", "value": 42360}
    assert standing.result["window"]["closes"] == {"meter": "odometer", "value": 42410}


def test_recheck_completes_wheel_by_wheel_and_moved_raises_anew(keeper, rig):
    wheel_service(rig, keeper)
    lug = item(rig, "lug_recheck")
    checked = Wheels(
        figure=Decimal(110),
        origin="invoice",
        reached={"LF": Decimal(110), "LR": Decimal(110)},
        moved=frozenset({"LR"}),
    )

    log(
        rig,
        keeper,
        Line(lug.title, lug, "held"),
        on=date(2026, 5, 3),
        values={"odometer": Decimal(42370)},
        wheels=checked,
    )

    found = {c.outcome: c.places for c in lug.completions.all()}
    assert found == {"held": ["LF"], "moved": ["LR"]}
    lug.refresh_from_db()
    assert [p["places"] for p in lug.standing.result["pending"]] == [["LR"]]


def recheck(rig, keeper, outcome, moved=()):
    lug = item(rig, "lug_recheck")
    reached = {"LF": Decimal(110), "LR": Decimal(110)}
    return log(
        rig,
        keeper,
        Line(lug.title, lug, outcome),
        on=date(2026, 5, 3),
        values={"odometer": Decimal(42370)},
        wheels=Wheels(
            figure=Decimal(110),
            origin="invoice",
            reached=reached,
            moved=frozenset(moved),
        ),
    )


def test_recheck_with_a_nut_that_moved_is_not_recorded_as_held(keeper, rig):
    wheel_service(rig, keeper)

    record = recheck(rig, keeper, "held", moved=["LR"])

    assert record.lines.get().outcome == "moved"


def test_recheck_said_to_have_moved_without_its_wheel_is_refused(keeper, rig):
    wheel_service(rig, keeper)

    with pytest.raises(Refused, match="the wheel where"):
        recheck(rig, keeper, "moved")

    assert not Completion.objects.exists()


def test_torque_check_keeps_figure_origin_and_each_wheel(keeper, rig):
    wheels = Wheels(
        figure=Decimal(110),
        origin="manual",
        reached={"LF": Decimal(110), "RF": Decimal(108)},
    )

    record = log(rig, keeper, Line("Torque checked"), wheels=wheels)

    places = record.torque.places.values_list("place", "reached", "moved")
    assert list(places) == [("LF", 110, False), ("RF", 108, False)]


def test_renewing_procedure_renews_the_other_item_too(keeper, rig):
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil_before_storage"])
    before = item(rig, "engine_oil_before_storage")

    log(rig, keeper, Line(before.title, before))

    assert item(rig, "engine_oil").completions.count() == 1


def test_same_form_twice_makes_one_record(keeper, rig):
    token = uuid4()

    first = wheel_service(rig, keeper, form_token=token)
    again = wheel_service(rig, keeper, form_token=token)

    assert first == again
    assert (ServiceRecord.objects.count(), Event.objects.count()) == (1, 1)


def test_void_withdraws_what_the_record_gave_and_raised(keeper, rig):
    oil = item(rig, "engine_oil")
    record = log(
        rig,
        keeper,
        Line(oil.title, oil),
        wheels=Wheels(off=frozenset({"LF"})),
        values={"odometer": Decimal(42310)},
    )

    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    for rows in (Completion, Event, Reading):
        assert list(rows.objects.values_list("withdrawn", flat=True)) == [True]
    assert item(rig, "lug_recheck").standing.result["pending"] == []


def test_void_twice_is_refused(keeper, rig):
    record = wheel_service(rig, keeper)
    void_record(record, by=keeper, today=TODAY, why="wrong rig")

    with pytest.raises(Refused, match="already void"):
        void_record(record, by=keeper, today=TODAY, why="again")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"on": date(2026, 5, 5)}, "still to come"),
        ({"until": date(2026, 4, 1)}, "before the first"),
        ({"wheels": Wheels(off=frozenset({"L3"}))}, "no wheel at L3"),
        ({"wheels": Wheels(reached={"LF": Decimal(9)})}, "Enter the torque"),
        ({"wheels": Wheels(figure=Decimal(110))}, "where the torque figure comes from"),
        ({"values": {"generator": Decimal(3)}}, "no such meter: generator"),
    ],
)
def test_log_refuses_and_stores_nothing(keeper, rig, more, words):
    with pytest.raises(Refused, match=words):
        log(rig, keeper, Line("Work"), **more)

    assert not ServiceRecord.objects.exists()
    assert not Reading.objects.exists()


def test_log_without_a_line_is_refused(keeper, rig):
    with pytest.raises(Refused, match="Enter what was done"):
        log(rig, keeper)


def test_log_refuses_an_item_of_another_rig(keeper, rig):
    other = builders.make_item(builders.make_rig(keeper.household))

    with pytest.raises(Refused, match="another rig's plan"):
        log(rig, keeper, Line(other.title, other))


def test_viewer_may_not_log(keeper, rig):
    viewer = builders.make_member(keeper.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        log(rig, viewer, Line("Work"))


def test_late_entry_says_so(keeper, rig):
    record = log(rig, keeper, Line("Work"), on=date(2020, 1, 1))

    assert record.is_late_entry


def test_three_bearings_done_then_the_fourth_stays_open(keeper):
    """In the plan and in the record: the wheels that were off are those done."""
    trailer = builders.make_rig(
        keeper.household,
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
    )
    item = builders.make_item(
        trailer,
        "bearing_repack",
        baseline="stated",
        baseline_on=date(2024, 1, 1),
        triggers=[{"every": {"months": 12}}],
    )
    off = Wheels(off=frozenset({"L1", "R1", "L2"}))

    record = builders.log_work(
        trailer, by=keeper, lines=[Line(item.title, item)], wheels=off
    )

    assert record.lines.get().places == ["L1", "R1", "L2"]
    assert item.completions.get().places == ["L1", "R1", "L2"]
    item.standing.refresh_from_db()
    assert item.standing.standing == "overdue"
    everywhere = Wheels(off=frozenset(trailer.places))
    builders.log_work(
        trailer, by=keeper, lines=[Line(item.title, item)], wheels=everywhere
    )
    item.standing.refresh_from_db()
    assert item.standing.standing == "later"
