from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.supplies import services
from maintenance.supplies.models import Supply, Tool
from maintenance.supplies.stock import amount_words, put_in, stock_words, take_out
from tests import builders
from tests.builders import TODAY

WRENCH = {
    "kind": "torque_wrench",
    "name": "Click wrench",
    "drive": "1/2",
    "unit": "ft·lbf",
    "full_scale": Decimal(150),
}


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


def add_tool(by, **fields):
    return services.add_tool(by.household, by=by, today=TODAY, **fields)


def add_supply(by, stock="2", **fields):
    fields = {"name": "Oil filter", "part_number": "OF-1"} | fields
    amount = None if stock is None else Decimal(stock)
    return services.add_supply(by.household, by=by, stock=amount, **fields)


def left(supply):
    supply.refresh_from_db()
    return supply.stock


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"full_scale": None}, "full_scale"),
        ({"full_scale": Decimal(0)}, "full_scale"),
        ({"unit": ""}, "unit"),
        ({"lowest_mark": Decimal(150)}, "lowest_mark"),
        ({"calibrated_on": date(2026, 5, 5)}, "calibrated_on"),
    ],
)
def test_wrench_that_cannot_be_is_refused_at_its_field(crew, changed, field):
    with pytest.raises(Refused) as caught:
        add_tool(crew, **WRENCH | changed)

    assert caught.value.field == field
    assert not Tool.objects.exists()


@pytest.mark.parametrize(
    "fields",
    [
        WRENCH | {"full_scale": None},
        WRENCH | {"unit": ""},
        WRENCH | {"lowest_mark": 200},
    ],
)
def test_database_keeps_no_wrench_that_cannot_be(crew, fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        Tool.objects.create(household=crew.household, **fields)


def test_two_tools_of_one_name_are_refused(crew):
    add_tool(crew, kind="other", name="Ladder")

    with pytest.raises(Refused, match="already"):
        add_tool(crew, kind="other", name="Ladder")


def test_tool_keeps_its_own_name_when_changed(crew):
    tool = add_tool(crew, **WRENCH)

    services.change_tool(tool, by=crew, today=TODAY, name=tool.name, mishap=True)

    assert Tool.objects.get().mishap


def test_same_name_with_another_part_number_is_another_supply(crew):
    add_supply(crew)
    add_supply(crew, part_number="OF-2")

    with pytest.raises(Refused, match="same part number"):
        add_supply(crew)

    assert Supply.objects.count() == 2


def test_stock_is_taken_out(crew):
    supply = add_supply(crew)

    take_out(supply, Decimal(2))

    assert left(supply) == 0
    assert stock_words(supply) == "none left"


def test_stock_never_falls_below_zero_and_says_so(crew):
    supply = add_supply(crew)

    with pytest.raises(Refused) as caught:
        take_out(supply, Decimal("2.5"), field="take_1")

    assert "2 pieces in stock, but this job uses 2.5 pieces" in caught.value.text
    assert caught.value.field == "take_1"
    assert left(supply) == 2


def test_stale_copy_does_not_take_what_another_took(crew):
    one, other = add_supply(crew), Supply.objects.get()
    take_out(one, Decimal(1))

    with pytest.raises(Refused, match="1 piece in stock"):
        take_out(other, Decimal(2))


def test_database_keeps_no_stock_below_zero(crew):
    with pytest.raises(IntegrityError), transaction.atomic():
        Supply.objects.create(household=crew.household, name="Oil", stock=-1)


def test_what_is_not_counted_stays_so(crew):
    supply = add_supply(crew, stock=None)

    take_out(supply, Decimal(5))
    put_in(supply, Decimal(5))

    assert left(supply) is None
    assert stock_words(supply) == "always there, not counted"


@pytest.mark.parametrize(("before", "after"), [("2", 5), (None, 3)])
def test_bought_is_put_in_and_counted_from_then_on(crew, before, after):
    supply = add_supply(crew, stock=before)

    services.buy(supply, by=crew, amount=Decimal(3))

    assert left(supply) == after


@pytest.mark.parametrize(
    ("amount", "unit", "words"),
    [
        ("1", "piece", "1 piece"),
        ("2", "piece", "2 pieces"),
        ("4.50", "qt", "4.5\N{NO-BREAK SPACE}qt"),
    ],
)
def test_amount_in_words(amount, unit, words):
    assert amount_words(Decimal(amount), unit) == words


@pytest.mark.parametrize("change", ["add_tool", "add_supply", "buy", "remove"])
def test_viewer_changes_nothing(crew, change):
    viewer = builders.make_member(crew.household, Role.VIEWER)
    supply = add_supply(crew)
    changes = {
        "add_tool": lambda: add_tool(viewer, **WRENCH),
        "add_supply": lambda: add_supply(viewer, name="Tape"),
        "buy": lambda: services.buy(supply, by=viewer, amount=Decimal(1)),
        "remove": lambda: services.remove_supply(supply, by=viewer),
    }

    with pytest.raises(NotAllowed):
        changes[change]()
