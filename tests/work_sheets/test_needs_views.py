from urllib.parse import quote

import pytest
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.supplies.models import Supply, Tool
from tests import builders

ASKED = "Spare gasket"


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def item(crew):
    return builders.make_item(builders.make_rig(crew.household), "pump_strainer")


@pytest.fixture
def browser(crew, client_as):
    return client_as(crew)


def url(item, asked=ASKED):
    return f"{reverse('use_supply', args=[item.pk])}?asked={quote(asked)}"


def test_new_supply_is_put_on_the_list_and_used_by_the_job(browser, item):
    data = {"name": "Gasket", "part_number": "G-22", "stock": "2", "amount": "1"}

    browser.post(url(item), data | {"unit": "piece"})

    use = item.supplies.get()
    assert (str(use.supply), use.supply.stock, use.asked) == ("Gasket G-22", 2, ASKED)


def test_supply_on_the_list_is_chosen(browser, item, crew):
    supply = Supply.objects.create(household=crew.household, name="Gasket")

    browser.post(url(item), {"supply": supply.pk, "amount": "0,5"})

    assert item.supplies.get().amount == 0.5
    assert Supply.objects.count() == 1


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"amount": "1"}, "name", "Choose something from your list"),
        ({"name": "Gasket", "amount": "0"}, "amount", "or more"),
        ({"name": "Gasket", "amount": "some"}, "amount", "t a number"),
        ({"supply": "9999", "amount": "1"}, "supply", "one of the choices"),
    ],
)
def test_wrong_entry_is_said_at_its_field(browser, item, data, field, words):
    answer = browser.post(url(item), data)

    assert words in str(answer.context["form"].errors[field])
    assert not item.supplies.exists()


def test_twice_on_the_list_is_refused_and_nothing_is_used(browser, item, crew):
    Supply.objects.create(household=crew.household, name="Gasket")
    data = {"name": "Gasket", "unit": "piece", "amount": "1"}

    answer = browser.post(url(item), data)

    assert "already on the list" in str(answer.context["form"].errors["name"])
    assert not item.supplies.exists()


def test_words_that_the_procedure_does_not_have_are_left_aside(browser, item):
    answer = browser.get(url(item, "<b>anything</b>"))

    assert answer.context["form"]["name"].value() == ""


def test_who_may_say_that_a_job_uses_it_no_more(browser, item, crew, client_as):
    supply = Supply.objects.create(household=crew.household, name="Gasket")
    use = item.supplies.create(supply=supply, amount=1)
    gone = reverse("stop_using", args=[use.pk])
    viewer = client_as(builders.make_member(crew.household, Role.VIEWER))

    assert viewer.post(gone).status_code == 403
    assert client_as(builders.make_member()).post(gone).status_code == 404
    assert browser.post(gone)["Location"] == f"/items/{item.pk}/"
    assert not item.supplies.exists()


def test_ticked_things_are_on_the_list_and_no_longer_asked_for(browser, item):
    asked = browser.get("/supplies/asked-for/")
    assert "Old toothbrush" in asked.content.decode()

    browser.post("/supplies/asked-for/", {"tools": ["Old toothbrush"]})

    assert Tool.objects.get().name == "Old toothbrush"
    again = browser.get("/supplies/asked-for/")
    assert "Old toothbrush" not in again.content.decode()


def test_thing_that_nobody_asked_for_is_refused(browser, item):
    browser.post("/supplies/asked-for/", {"tools": ["Sword"]})

    assert not Tool.objects.exists()
