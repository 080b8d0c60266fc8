from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.supplies.models import Supply, Tool
from tests import builders

WRENCH = {
    "name": "Click wrench",
    "drive": "1/2",
    "unit": "ft·lbf",
    "lowest_mark": "25",
    "full_scale": "150",
    "calibrated_on": "2026-01-15",
}


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def browser(crew, client_as):
    return client_as(crew)


def add_wrench(browser, **changed):
    url = reverse("add_tool", args=["torque_wrench"])
    return browser.post(url, WRENCH | changed, follow=True)


def make_supply(crew, **fields):
    fields = {"name": "Oil filter", "part_number": "OF-1", "stock": 2} | fields
    return Supply.objects.create(household=crew.household, **fields)


def test_wrench_stands_on_the_list_with_scale_and_calibration(browser, clock):
    clock("2026-05-04")

    text = add_wrench(browser).content.decode()

    for words in ("Click wrench", "1/2 in drive", "25 to 150 ft·lbf", "Jan 15, 2027"):
        assert words in text


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"full_scale": ""}, "full_scale", "Enter a number"),
        ({"full_scale": "strong"}, "full_scale", "isn&#x27;t a number"),
        ({"full_scale": "20"}, "lowest_mark", "below the highest"),
        ({"calibrated_on": "2099-01-01"}, "calibrated_on", "still to come"),
        ({"cycles": "-1"}, "cycles", "Enter 0 or more"),
        ({"drive": "9/8"}, "drive", "one of the choices"),
    ],
)
def test_wrong_entry_is_said_at_its_field(browser, changed, field, words):
    answer = add_wrench(browser, **changed)

    assert words in str(answer.context["form"].errors[field])
    assert not Tool.objects.exists()


def test_scale_is_entered_in_the_unit_that_was_chosen(browser):
    add_wrench(browser, unit="N·m", lowest_mark="40", full_scale="200")

    tool = Tool.objects.get()
    assert (tool.full_scale, tool.unit) == (200, "N·m")


def test_kinds_of_tools_ask_for_what_they_have(browser):
    def fields(kind):
        return set(browser.get(f"/tools/add/{kind}/").context["form"].fields)

    assert fields("other") == {"name", "note"}
    assert fields("socket") == {"name", "drive", "size", "note"}
    assert browser.get("/tools/add/hammer/").status_code == 404


def test_changed_tool_keeps_what_the_form_does_not_ask(browser):
    add_wrench(browser)
    tool = Tool.objects.get()
    url = reverse("change_tool", args=[tool.pk])

    browser.post(url, WRENCH | {"mishap": "on", "cycles": "40"})

    tool.refresh_from_db()
    assert (tool.kind, tool.mishap, tool.cycles) == ("torque_wrench", True, 40)
    assert "ropped or overloaded" in browser.get("/supplies/").content.decode()


@pytest.mark.parametrize(
    ("typed", "stock"), [("4,5", "4.50"), ("1.25", "1.25"), ("", None), ("0", "0")]
)
def test_stock_is_typed_with_comma_or_point(browser, typed, stock):
    data = {"name": "Oil", "unit": "qt", "stock": typed}

    browser.post(reverse("add_supply"), data)

    assert Supply.objects.get().stock == (stock and Decimal(stock))


@pytest.mark.parametrize(
    ("typed", "words"),
    [("-1", "Enter 0 or more"), ("many", "isn&#x27;t a number")],
)
def test_wrong_stock_is_said_at_its_field(browser, typed, words):
    answer = browser.post(
        reverse("add_supply"), {"name": "Oil", "unit": "qt", "stock": typed}
    )

    assert words in str(answer.context["form"].errors["stock"])
    assert f'value="{typed}"' in answer.content.decode()


def test_bought_is_put_in_by_the_page(browser, crew):
    supply = make_supply(crew)
    url = reverse("buy_supply", args=[supply.pk])
    assert "2 pieces in stock" in browser.get(url).content.decode()

    browser.post(url, {"amount": "3"})

    supply.refresh_from_db()
    assert supply.stock == 5


def test_supply_without_stock_stands_out(browser, crew):
    make_supply(crew, stock=0)

    assert "<strong>none left</strong>" in browser.get("/supplies/").content.decode()


def test_tool_added_from_a_job_goes_back_to_it(browser):
    url = reverse("add_tool", args=["torque_wrench"]) + "?next=/trips/"

    answer = browser.post(url, WRENCH)

    assert answer["Location"] == "/trips/"


def removals(crew):
    tool = Tool.objects.create(household=crew.household, kind="other", name="Ladder")
    return {
        "remove_tool": reverse("remove_tool", args=[tool.pk]),
        "remove_supply": reverse("remove_supply", args=[make_supply(crew).pk]),
    }


@pytest.mark.parametrize("name", ["remove_tool", "remove_supply"])
def test_who_may_take_off_the_list(crew, browser, client_as, name):
    url = removals(crew)[name]
    viewer = client_as(builders.make_member(crew.household, Role.VIEWER))
    stranger = client_as(builders.make_member())

    assert viewer.post(url).status_code == 403
    assert stranger.post(url).status_code == 404
    assert browser.get(url).status_code == 405
    assert browser.post(url)["Location"] == "/supplies/"
    assert browser.post(url).status_code == 404


def test_viewer_reads_the_list_and_changes_nothing(crew, client_as):
    make_supply(crew)
    viewer = client_as(builders.make_member(crew.household, Role.VIEWER))

    text = viewer.get("/supplies/").content.decode()

    assert "Oil filter" in text
    assert "Put in" not in text


def test_list_of_another_household_is_not_seen(crew, client_as):
    make_supply(crew)

    text = client_as(builders.make_member()).get("/supplies/").content.decode()

    assert "Oil filter" not in text


@pytest.mark.parametrize("count", [3, 30])
def test_list_costs_the_same_queries_however_long_it_is(
    crew, browser, count, django_assert_max_num_queries
):
    for number in range(count):
        make_supply(crew, part_number=f"OF-{number}")
        Tool.objects.create(
            household=crew.household, kind="other", name=f"Tool {number}"
        )

    with django_assert_max_num_queries(6):
        browser.get("/supplies/")
