"""A procedure of the household's own, used like one of the library."""

import pytest
from django.urls import reverse

from maintenance.households.refusals import Refused
from maintenance.plans.drafts import draft_plan
from maintenance.plans.figures import figures_of
from maintenance.plans.models import OwnProcedure
from maintenance.plans.queries import procedure_of, procedures_of
from maintenance.plans.services import change_procedure, change_rules, write_procedure
from maintenance.plans.sheets import plan_sheet
from tests import builders

TODAY = builders.TODAY
WORDS = {
    "title": "Grease the bike rack's hinge",
    "system": "body-doors",
    "who": "owner",
    "minutes": "15",
    "why": "It squeaks, then it seizes.",
    "steps": "Fold it down.\n\nOne drop of oil on each pin.\n",
    "tools": "Oil can",
    "odometer_every": "3000",
    "every": "6",
    "every_unit": "months",
}


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, TODAY, 42310)
    return rig


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def browser(keeper, client_as):
    return client_as(keeper)


@pytest.fixture
def written(browser, rig):
    browser.post(reverse("write_procedure", args=[rig.pk]), WORDS)
    return rig.plan_items.get()


def test_it_is_written_and_taken_on(written, keeper):
    own = OwnProcedure.objects.get()

    assert (written.key, written.title) == (own.key, WORDS["title"])
    assert own.steps == ["Fold it down.", "One drop of oil on each pin."]
    assert own.triggers[0]["every"]["meter"] == "distance"
    assert written.triggers == [
        {"every": {"distance": 3000, "unit": "mi", "meter": "odometer"}},
        {"every": {"months": 6}},
    ]
    assert written.standing.standing == "unknown"


def test_its_words_are_those_of_the_item(written, keeper):
    found = procedure_of(written)

    assert found is not None
    assert found.steps[0] == "Fold it down."
    assert found.sources[0].text == f"written by {keeper} on May 4, 2026"


def test_item_counts_by_it_and_says_so(written):
    assert figures_of(written, TODAY).counted_from == "your own job"


def test_it_is_among_the_procedures_of_its_household_alone(written):
    other = builders.make_household()

    assert written.key in procedures_of(written.rig.household)
    assert written.key not in procedures_of(other)


def test_another_rig_is_offered_it_unticked(written, keeper, client_as):
    trailer = builders.make_rig(
        keeper.household,
        kind="travel_trailer",
        wheels="trailer_one",
        meter={"kind": "towed", "unit": "mi"},
    )
    page = reverse("propose_plan", args=[trailer.pk])
    (row,) = [r for r in draft_plan(trailer, TODAY).rows if r.key == written.key]
    assert (row.because, row.usual) == ("because you wrote it", False)
    usual = [r.key for r in draft_plan(trailer, TODAY).rows if r.usual]

    client_as(keeper).post(page, {"keys": [*usual, written.key]})

    taken = trailer.plan_items.get(key=written.key)
    assert taken.triggers[0]["every"]["meter"] == "towed"


def test_not_wanted_on_another_rig_it_is_not_kept_there(written, keeper, client_as):
    car = builders.make_rig(keeper.household, kind="towed_car")
    usual = [r.key for r in draft_plan(car, TODAY).rows if r.usual]

    client_as(keeper).post(reverse("propose_plan", args=[car.pk]), {"keys": usual})

    assert not car.plan_items.filter(key=written.key).exists()


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"title": ""}, "title", "This is blank"),
        ({"steps": " \n "}, "steps", "This is blank"),
        ({"who": "shop"}, "cautions", "isn't for everyone"),
        ({"steps": "Jack it up."}, "cautions", 'the work speaks of "Jack"'),
        ({"unfit": "A loose rack"}, "cautions", "safe travel hangs on the work"),
        ({"unfit_when_overdue": "on", "cautions": "Mind it."}, "unfit", "Must say"),
        ({"minutes": "-5"}, "minutes", "Enter 0 or more"),
        ({"minutes": "2000"}, "minutes", "Enter 1440 or less"),
        ({"odometer_every": "500000"}, "odometer_every", "can't be right"),
        ({"odometer_every": "", "every": ""}, "when_needed", "at least one rule"),
        ({"when_needed": "on"}, "when_needed", "not both"),
        ({"measures": "Torque 90"}, "measures", "enter it like"),
        ({"measures": "Torque: 90 ft-lb"}, "measures", "at least, at most"),
        ({"measures": "Torque: 90-120 furlongs"}, "measures", "isn't a known unit"),
        ({"tools": "Rag\nRag"}, "tools", "there twice"),
    ],
)
def test_what_does_not_hold_is_said_at_its_field(browser, rig, data, field, words):
    page = reverse("write_procedure", args=[rig.pk])

    answer = browser.post(page, WORDS | data)

    assert words in " ".join(answer.context["form"].errors[field])
    assert not OwnProcedure.objects.exists()


def test_title_is_given_once(written, browser):
    page = reverse("write_procedure", args=[written.rig_id])

    answer = browser.post(page, WORDS)

    assert "already a job with this title" in answer.context["form"].errors["title"][0]


def test_limits_are_kept_and_shown_as_they_were_typed(browser, rig):
    lines = "Torque: 90-120 ft·lbf\nRest: at least 12.4 V\nGap: in"
    browser.post(reverse("write_procedure", args=[rig.pk]), WORDS | {"measures": lines})
    own = OwnProcedure.objects.get()

    shown = browser.get(reverse("change_procedure", args=[own.pk])).context["form"]

    assert shown["measures"].value().splitlines() == [
        "Torque: 90 to 120 ft·lbf",
        "Rest: at least 12.4 V",
        "Gap: in",
    ]
    measures = procedures_of(rig.household)[own.key].measures
    assert [m.unit for m in measures] == [
        "ft·lbf",
        "V",
        "in",
    ]


def test_only_when_needed_counts_nothing(browser, rig):
    data = WORDS | {"odometer_every": "", "every": "", "when_needed": "on"}

    browser.post(reverse("write_procedure", args=[rig.pk]), data)

    assert rig.plan_items.get().triggers == []


def test_change_reaches_every_rig_that_follows_it(written, browser):
    own = OwnProcedure.objects.get()
    page = reverse("change_procedure", args=[own.pk])

    browser.post(page, WORDS | {"title": "Oil the rack", "every": "3"})

    written.refresh_from_db()
    assert (written.title, written.triggers[1]) == (
        "Oil the rack",
        {"every": {"months": 3}},
    )
    assert plan_sheet(written.rig, TODAY).offers == []


def test_change_leaves_rules_of_the_owner_s_own_for_one_rig(written, keeper):
    change_rules(written, by=keeper, today=TODAY, rules=[{"every": {"months": 1}}])
    own = OwnProcedure.objects.get()

    change_procedure(own, by=keeper, today=TODAY, triggers=[{"every": {"months": 3}}])

    written.refresh_from_db()
    assert written.triggers == [{"every": {"months": 1}}]


def test_crew_does_not_write(rig):
    crew = builders.make_member(rig.household, "crew")
    with pytest.raises(Exception, match="This needs the role"):
        write_procedure(rig, by=crew, today=TODAY, title="x")


def test_service_refuses_work_that_can_hurt_without_a_caution(rig, keeper):
    with pytest.raises(Refused, match="isn't for everyone"):
        write_procedure(
            rig,
            by=keeper,
            today=TODAY,
            title="Have it lifted",
            system="body-doors",
            who="shop",
            minutes=5,
            why="So.",
            steps=["Go."],
        )
