import pytest

from maintenance.households.models import Role
from maintenance.vehicles.manuals import tell_spot
from maintenance.work_sheets.spots import spots_for, spots_on
from tests import builders
from tests.builders import TODAY

WATER = ["fresh_water", "water_heater"]


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def rig(crew):
    return builders.make_rig(crew.household, equipment=WATER)


def names(lines):
    return [line.spot.key for line in lines]


def test_job_shows_the_places_that_it_needs(rig):
    item = builders.make_item(rig, "pump_strainer")

    assert names(spots_for(item)) == ["water_pump"]


def test_place_that_the_rig_cannot_have_is_left_out(rig):
    item = builders.make_item(rig, "winterize")

    found = names(spots_for(item))
    assert "heater_bypass" in found
    assert "macerator_pump" not in found


def test_what_is_told_stands_with_its_place(rig, crew):
    tell_spot(rig, by=crew, today=TODAY, name="water_pump", words="Under the bench")

    line = spots_for(builders.make_item(rig, "pump_strainer"))[0]
    assert line.told
    assert line.told.words == "Under the bench"


def test_list_of_a_rig_is_what_its_plan_needs(rig):
    builders.make_item(rig, "pump_strainer")
    builders.make_item(rig, "winterize", dropped_on=TODAY)

    assert names(spots_on(rig)) == ["water_pump"]


def test_item_of_ones_own_needs_no_place(rig):
    assert spots_for(builders.make_item(rig, "own_1")) == []


def test_page_tells_where_it_is_and_goes_back_to_the_job(rig, crew, client_as):
    item = builders.make_item(rig, "pump_strainer")
    url = f"/rigs/{rig.pk}/where/water_pump/?next=/items/{item.pk}/"

    answer = client_as(crew).post(url, {"words": "Under the bench"}, follow=True)

    assert answer.redirect_chain[-1][0] == f"/items/{item.pk}/"
    assert "Under the bench" in answer.content.decode()


def test_next_leads_nowhere_else(rig, crew, client_as):
    for elsewhere in ("https://example.com/", "//example.com/", "javascript:x"):
        url = f"/rigs/{rig.pk}/where/water_pump/?next={elsewhere}"
        answer = client_as(crew).post(url, {"words": "Under the bench"})
        assert answer["Location"] == f"/rigs/{rig.pk}/where/"


def test_nothing_told_is_asked_for_at_the_field(rig, crew, client_as):
    answer = client_as(crew).post(f"/rigs/{rig.pk}/where/water_pump/", {"words": ""})

    assert "Enter where it is, or add a photo." in answer.content.decode()
    assert not rig.spots.exists()


def test_place_that_the_library_does_not_know_is_not_found(rig, crew, client_as):
    assert client_as(crew).get(f"/rigs/{rig.pk}/where/attic/").status_code == 404


def test_list_takes_the_same_queries_for_many_items(
    rig, crew, client_as, django_assert_max_num_queries
):
    for key in ("pump_strainer", "winterize", "dewinterize", "tire_pressure"):
        builders.make_item(rig, key)

    client = client_as(crew)

    with django_assert_max_num_queries(8):
        client.get(f"/rigs/{rig.pk}/where/")
