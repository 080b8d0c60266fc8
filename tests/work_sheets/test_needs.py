from decimal import Decimal

import pytest

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.library.model import Procedure
from maintenance.supplies.models import Supply, Tool
from maintenance.supplies.queries import Belongings
from maintenance.work_sheets.needs import (
    add_to_inventory,
    asked_for,
    needs_of,
    stop_using,
    use_supply,
)
from tests import builders

PROCEDURE = Procedure(
    key="strainer",
    system="fresh-water",
    title="Clean the strainer",
    why="Grit.",
    who="owner",
    minutes=10,
    steps=("Open it.",),
    triggers=(),
    sources=(),
    tools=("Flashlight", "Helper", "Torque wrench that covers the figure"),
    supplies=("Spare gasket", "Water"),
)


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def item(crew):
    return builders.make_item(builders.make_rig(crew.household), "pump_strainer")


def add_tool(item, **fields):
    fields = {"kind": "other", "name": "Flashlight"} | fields
    return Tool.objects.create(household=item.rig.household, **fields)


def add_wrench(item):
    return add_tool(
        item, kind="torque_wrench", name="Click wrench", unit="ft·lbf", full_scale=150
    )


def add_supply(item, name="Gasket 22", stock: str | None = "1"):
    return Supply.objects.create(
        household=item.rig.household, name=name, stock=stock and Decimal(stock)
    )


def needs(item):
    return needs_of(item, PROCEDURE, Belongings(item.rig.household))


def test_without_a_list_nothing_is_called_missing(item):
    assert needs(item).missing == []
    assert not needs(item).listed


def test_what_nothing_on_the_list_answers_is_missing(item):
    add_tool(item, name="Ladder")

    assert needs(item).missing == [
        "Flashlight",
        "Torque wrench that covers the figure",
        "Spare gasket",
    ]


def test_what_the_list_has_is_named(item):
    add_tool(item, name="Big flashlight")
    add_wrench(item)

    assert [need.has for need in needs(item).tools] == [
        "Big flashlight",
        "",
        "Click wrench",
    ]


def test_plain_wrench_is_no_torque_wrench(item):
    add_tool(item, name="Wrench")

    assert "Torque wrench that covers the figure" in needs(item).missing


@pytest.mark.parametrize(
    ("stock", "missing"), [("0", True), ("1.5", True), ("2", False), (None, False)]
)
def test_supply_is_missing_where_less_is_there_than_the_job_takes(
    item, crew, stock, missing
):
    supply = add_supply(item, stock=stock)
    use_supply(item, by=crew, supply=supply, amount=Decimal(2), asked="Spare gasket")

    assert ("Spare gasket" in needs(item).missing) is missing


def test_supply_that_the_procedure_does_not_name_is_shown_too(item, crew):
    use_supply(item, by=crew, supply=add_supply(item), amount=Decimal(1))

    last = needs(item).supplies[-1]
    assert (last.asked, str(last.supply)) == ("", "Gasket 22")
    assert last.words == "1 piece in stock, 1 piece each time"


def test_use_told_again_is_changed(item, crew):
    supply = add_supply(item)
    use_supply(item, by=crew, supply=supply, amount=Decimal(1))
    use_supply(item, by=crew, supply=supply, amount=Decimal(3))

    assert item.supplies.get().amount == 3


def test_use_is_ended_and_the_supply_stays(item, crew):
    use = use_supply(item, by=crew, supply=add_supply(item), amount=Decimal(1))

    stop_using(use, by=crew)

    assert not item.supplies.exists()
    assert Supply.objects.exists()


def test_supply_of_another_household_is_refused(item, crew):
    other = Supply.objects.create(household=builders.make_household(), name="Oil")

    with pytest.raises(Refused, match="t on your list"):
        use_supply(item, by=crew, supply=other, amount=Decimal(1))


def test_viewer_tells_no_use(item):
    viewer = builders.make_member(item.rig.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        use_supply(item, by=viewer, supply=add_supply(item), amount=Decimal(1))


def test_asked_for_names_what_plans_ask_for_and_nothing_answers(item, crew):
    names = [name for name, _count in asked_for(crew.household).tools]
    assert "Old toothbrush" in names

    add_to_inventory(crew.household, by=crew, tools=names, supplies=["Spare gasket"])

    left = asked_for(crew.household)
    assert (left.tools, left.supplies) == ([], [])


def test_asked_for_leaves_out_what_an_item_has_its_own_for(item, crew):
    assert ("Spare gasket", 1) in asked_for(crew.household).supplies

    use_supply(
        item, by=crew, supply=add_supply(item), amount=Decimal(1), asked="Spare gasket"
    )

    assert asked_for(crew.household).supplies == []


def test_asked_for_wants_a_torque_wrench_until_there_is_one(item, crew):
    builders.make_item(item.rig, "lug_recheck")
    assert asked_for(crew.household).wrench

    add_wrench(item)
    assert not asked_for(crew.household).wrench


def test_asked_for_counts_plans_of_rigs_that_are_kept(item, crew):
    item.rig.sold_on = builders.TODAY
    item.rig.save()

    assert asked_for(crew.household).tools == []


def test_what_is_had_already_is_not_put_on_the_list_twice(item, crew):
    add_tool(item)

    assert (
        add_to_inventory(
            crew.household, by=crew, tools=["Flashlight"], supplies=["Rags"]
        )
        == 1
    )
    assert Tool.objects.count() == 1


def test_asked_for_takes_the_same_queries_for_many_items(
    item, crew, django_assert_max_num_queries
):
    for key in ("winterize", "lug_recheck", "engine_oil", "tire_pressure"):
        builders.make_item(item.rig, key)

    with django_assert_max_num_queries(5):
        asked_for(crew.household)
