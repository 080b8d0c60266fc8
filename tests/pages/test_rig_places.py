"""Due and coming on a rig, what its page offers to whom, and the list of rigs."""

import re
from datetime import timedelta
from itertools import combinations

import pytest
from django.urls import reverse

from maintenance.findings.models import Finding
from maintenance.pages.rig_page import ALONE, LINES, rig_page
from maintenance.plans.standings import renew_standings
from maintenance.ui.drawings import DRAWINGS, PINS, PLACES
from maintenance.vehicles.models import Meter, Reading, RigKind
from tests import builders
from tests.builders import TODAY

LATE = TODAY - timedelta(days=500)
RECENT = TODAY - timedelta(days=10)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 18:00", "America/Denver")
    return builders.make_member(role="keeper")


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def job(rig, key, done=None, **fields):
    told = {"baseline": "stated", "baseline_on": done} if done else {}
    return builders.make_item(rig, key=key, **told, **fields)


def reckoned(rig):
    renew_standings([rig], as_of=TODAY)
    return rig_page(rig, TODAY)


def shown(rig, client_as, role="keeper"):
    member = builders.make_member(rig.household, role=role)
    return client_as(member).get(reverse("rig", args=[rig.pk])).content.decode()


# --- the drawing ----------------------------------------------------------------------


def test_every_kind_has_a_drawing_with_a_pin_for_each_place():
    assert set(DRAWINGS) == set(RigKind.values)
    assert set(PINS) == set(DRAWINGS.values())
    assert all(list(pins) == list(PLACES) for pins in PINS.values())


@pytest.mark.parametrize("drawing", PINS)
def test_pins_of_a_drawing_stand_clear_of_each_other_and_inside_it(drawing):
    pins = PINS[drawing].values()

    for one, other in combinations(pins, 2):
        apart = abs(one.pin_x - other.pin_x), abs(one.pin_y - other.pin_y)
        assert apart[0] >= 44 or apart[1] >= 26
    for pin in pins:
        assert -42 + 23 <= pin.pin_x <= 378 - 23
        assert -42 + 14 <= pin.pin_y <= 182 - 14


# --- where things stand ---------------------------------------------------------------


def test_jobs_stand_at_the_place_of_their_system_the_worst_first(rig):
    job(rig, "oil", RECENT)
    job(rig, "belts", LATE)
    job(rig, "roof_look", LATE, system="roof-seals")
    job(rig, "insurance", LATE, system="papers")

    places = reckoned(rig).places

    assert [(p.number, p.key) for p in places] == [
        (1, "roof"),
        (2, "engine"),
        (0, "elsewhere"),
    ]
    assert [one.title for one in places[1].jobs] == ["Belts"]
    assert places[1].worst == "overdue"
    assert places[1].is_red


def test_finding_stands_at_its_place_and_once(rig):
    item = job(rig, "seams", LATE, system="roof-seals")
    Finding.objects.create(rig=rig, what="A seam", found_on=TODAY, item=item)
    Finding.objects.create(rig=rig, what="A crack", zone="roof", found_on=TODAY)

    (roof,) = reckoned(rig).places

    assert [(one.title, one.standing) for one in roof.jobs] == [
        ("Seams", "overdue"),
        ("A crack", "fault"),
    ]


def test_what_stops_the_rig_is_the_worst_of_its_place_and_hangs_on_it(rig, client_as):
    Finding.objects.create(
        rig=rig, what="A flat", zone="roof", found_on=TODAY, unfit=True
    )

    (roof,) = reckoned(rig).places
    page = shown(rig, client_as)

    assert (roof.worst, roof.is_red) == ("unfit", True)
    assert f"Don't drive {rig}" in page.replace("&#x27;", "'")


def test_many_jobs_at_one_place_are_folded_and_all_there(rig, client_as):
    for number in range(LINES + 3):
        job(rig, f"oil_{number}", LATE)

    (engine,) = reckoned(rig).places
    page = shown(rig, client_as)

    assert (len(engine.shown), len(engine.more)) == (LINES, 3)
    assert all(f">Oil {number}</a>" in page for number in range(LINES + 3))
    assert "3 more" in page


def test_jobs_without_a_record_are_one_line_with_one_button(rig, client_as):
    for number in range(122):
        job(rig, f"job_{number}", safety=number < ALONE + 1)

    page = reckoned(rig)

    assert page.places == []
    assert (page.unknown.jobs, page.unknown.safety) == (122, ALONE + 1)
    html = shown(rig, client_as)
    assert "122 jobs" in html
    assert ">Job 7<" not in html


def test_a_safety_job_without_a_record_stands_in_its_place(rig):
    job(rig, "brakes", system="brakes-bearings", safety=True)

    page = reckoned(rig)

    (wheels,) = page.places
    assert [one.standing for one in wheels.jobs] == ["unknown"]
    assert page.unknown is None


def test_what_comes_next_names_jobs_of_one_window_together(rig):
    for key in ("oil", "belts", "hoses"):
        job(rig, key, RECENT)

    (ahead,) = reckoned(rig).ahead

    assert (ahead.title, ahead.more) == ("Oil", 2)


# --- parts that age -------------------------------------------------------------------


def test_parts_of_one_age_are_one_bar_on_the_axis_of_all(rig):
    life = [{"life": {"months": 72, "from": "2023-03-26"}}]
    for place in ("LF", "RF"):
        part = rig.household.components.create(rig=rig, kind="tire", place=place)
        job(rig, "tire_replace", triggers=life, system="wheels-tires", component=part)
    old = [{"life": {"months": 60, "from": "2019-01-02"}}]
    job(rig, "hose_renew", triggers=old, system="propane", title="Renew hoses")

    aging = reckoned(rig).aging

    assert [(part.title, part.left) for part in aging.parts] == [
        ("Renew hoses", "2 y 4 mo over"),
        ("Tire, 2 alike", "2 y 10 mo left"),
    ]
    assert (aging.start.year, aging.end.year) == (2019, 2030)
    assert aging.years[0] == (2019, 0.0)


# --- a reading right there ------------------------------------------------------------


@pytest.fixture
def odometer(rig):
    builders.make_reading(rig, RECENT, 42000)
    return Meter.objects.get(rig=rig)


def field_of(page):
    """The form of a reading as the page draws it: where it goes, and its fields."""
    form = re.search(r'<form class="reading".*?</form>', page, re.S)[0]
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))
    return re.search(r'action="([^"]+)"', form)[1], hidden


def test_reading_is_typed_on_the_page_of_the_rig(rig, odometer, client_as, keeper):
    url, hidden = field_of(shown(rig, client_as))

    answer = client_as(keeper).post(url, {**hidden, "value": "42,310"}, follow=True)

    assert answer.redirect_chain[-1][0] == reverse("rig", args=[rig.pk])
    latest = Reading.objects.latest("pk")
    assert (latest.meter, latest.value, latest.on) == (odometer, 42310, TODAY)


def test_reading_that_does_not_fit_is_asked_about_and_kept_as_typed(
    rig, odometer, client_as, keeper
):
    url, hidden = field_of(shown(rig, client_as))

    answer = client_as(keeper).post(url, {**hidden, "value": "4231"})

    assert Reading.objects.count() == 1
    assert answer.status_code == 200
    assert 'value="4231"' in answer.content.decode()


def test_viewer_sees_no_acts(rig, odometer, client_as):
    job(rig, "belts", LATE)
    renew_standings([rig], as_of=TODAY)

    page = shown(rig, client_as, role="viewer")

    main = page.partition("<main")[2].partition("</main>")[0]
    assert "Belts" in main
    assert "<form" not in main
    assert main.count('class="button') == 1  # to read on
    assert "See its use" in main
    assert "Something happened" not in page


@pytest.mark.parametrize("kind", ["motorhome", "travel_trailer", "towed_car"])
def test_page_keeps_to_fifteen_queries(
    keeper, client_as, kind, django_assert_max_num_queries
):
    rig = builders.make_rig(keeper.household, kind=kind, name=kind)
    for number in range(30):
        job(rig, f"job_{number}", LATE, system="propane")
    renew_standings([rig], as_of=TODAY)
    browser = client_as(keeper)
    browser.get(reverse("rig", args=[rig.pk]))

    with django_assert_max_num_queries(15):
        browser.get(reverse("rig", args=[rig.pk]))


# --- the list of rigs -----------------------------------------------------------------


def test_list_says_what_each_rig_is_and_what_is_worst(rig, client_as, keeper):
    job(rig, "belts", LATE)
    renew_standings([rig], as_of=TODAY)

    page = client_as(keeper).get(reverse("rigs")).content.decode()

    assert rig.identity in page
    assert re.search(r"Overdue</span> Belts", page)
    assert "1 overdue" in page


def test_first_rig_is_added_by_its_drawing(keeper, client_as):
    page = client_as(keeper).get(reverse("rigs")).content.decode()

    assert "Add your first rig." in page
    kinds = re.findall(r"/rigs/add/\?kind=(\w+)", page)
    assert len(kinds) == len(set(kinds)) == 6
    assert set(kinds) <= set(RigKind.values)
    assert {DRAWINGS[kind] for kind in kinds} == set(PINS)
    assert reverse("bring_in") in page
    form = client_as(keeper).get(f"/rigs/add/?kind={kinds[3]}").content.decode()
    assert f'<option value="{kinds[3]}" selected' in form


def test_viewer_of_no_rig_yet_is_told_who_adds_one(keeper, client_as):
    viewer = builders.make_member(keeper.household, role="viewer")

    page = client_as(viewer).get(reverse("rigs")).content.decode()

    assert "A keeper adds the first one." in page
    assert "/rigs/add/" not in page
