"""The page of one item, as people see it and send it."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from maintenance.households.models import Member, Role
from maintenance.library.reading import load_library
from maintenance.plans.models import MakerFigure, PlanItem
from maintenance.plans.services import take_on
from maintenance.supplies.models import Tool
from maintenance.work_sheets.forms.work_sheet import step_field
from maintenance.work_sheets.kept import keep, kept_of
from tests import builders
from tests.builders import TODAY

HTMX = {"HTTP_HX_REQUEST": "true"}
KEYS = [
    "lug_recheck",
    "pump_strainer",
    "battery_rest_volts",
    "tire_wear_pattern",
    "registration_renewal",
    "weigh_loaded",
]


@pytest.fixture(scope="module")
def home(shared):
    def make():
        crew = builders.make_member(role=Role.CREW)
        keeper = builders.make_member(crew.household)
        rig = builders.make_rig(crew.household, equipment=["fresh_water"])
        take_on(rig, by=keeper, today=TODAY, keys=KEYS)
        return crew.pk

    with shared(make, at="2026-05-04 12:00") as (pk, _files):
        yield pk


@pytest.fixture
def crew(home, db):
    return Member.objects.get(pk=home)


@pytest.fixture
def items(crew):
    items = PlanItem.objects.filter(rig__household=crew.household)
    return {item.key: item for item in items.select_related("rig__household")}


@pytest.fixture
def browser(crew, client_as):
    return client_as(crew)


def url(item):
    return reverse("item", args=[item.pk])


def text_of(browser, item):
    return browser.get(url(item)).content.decode()


def send(browser, item, data, **headers):
    return browser.post(reverse("keep_sheet", args=[item.pk]), data, **headers)


def enter(browser, item, field, value):
    data = {"field": field, field: value}
    return send(browser, item, data, **HTMX).content.decode()


def kept(item):
    return kept_of(item, timezone.now())


def steps(item):
    return load_library().procedures[item.key].steps


def first_step(item):
    return step_field(steps(item)[0])


@pytest.mark.parametrize("key", KEYS)
def test_cautions_stand_before_everything_else(browser, items, key):
    text = text_of(browser, items[key])
    text = text[text.index('<form id="sheet"') :]
    marks = ["Before you begin", "Why now", ">Steps<", ">Record it<", "What follows"]
    marks += ["Why it matters", "Last times", "Where the figures come from", "Not now"]

    places = [text.index(mark) for mark in marks]
    assert places == sorted(places)


def test_page_says_what_it_takes_and_where_it_is(browser, items):
    text = text_of(browser, items["pump_strainer"])

    for words in ("Old toothbrush", "About 10 minutes", "Water pump and its strainer"):
        assert words in text
    assert "Enter where it is" in text


def test_viewer_reads_the_steps_and_gets_nothing_to_fill_in(items, client_as):
    item = items["pump_strainer"]
    viewer = builders.make_member(item.rig.household, Role.VIEWER)

    text = text_of(client_as(viewer), item)

    assert escape(steps(item)[1]) in text
    main = text[text.index("<main") :]
    assert "<input" not in main
    assert "<form" not in main


# --- one field at a time ------------------------------------


def test_tick_is_kept_at_once_and_there_after_a_reload(browser, items):
    item = items["pump_strainer"]

    answer = enter(browser, item, first_step(item), "on")

    assert f"1 of {len(steps(item))} steps, saved" in answer
    assert re.search(rf'name="{first_step(item)}"[^>]*checked', text_of(browser, item))


def test_tick_is_taken_off_by_a_post_without_it(browser, items):
    item = items["pump_strainer"]
    enter(browser, item, first_step(item), "on")

    send(browser, item, {"field": first_step(item)}, **HTMX)

    assert kept(item) == {}


def test_value_is_judged_as_soon_as_it_is_entered(browser, items):
    answer = enter(browser, items["battery_rest_volts"], "m_rested_voltage", "12.3")

    assert "below the 12.4 V limit" in answer
    assert "said-outside" in answer


def test_makers_limit_judges_the_value(browser, items):
    item = items["battery_rest_volts"]
    maker = MakerFigure.objects.create(item=item, document="Book", entered_on=TODAY)
    maker.values.create(name="rested voltage", value=12, up_to=13, unit="V")

    answer = enter(browser, item, "m_rested_voltage", "12.3")

    assert "within the limit" in answer


def test_wrong_value_is_not_kept_and_says_so_in_its_place(browser, items):
    item = items["battery_rest_volts"]

    answer = enter(browser, item, "m_rested_voltage", "full")

    assert 'id="said-m_rested_voltage"' in answer
    assert "isn&#x27;t a number" in answer
    assert "Not saved yet." in answer
    assert kept(item) == {}


@pytest.mark.parametrize("field", ["strange", "", "csrfmiddlewaretoken"])
def test_field_that_the_sheet_does_not_have_is_not_found(browser, items, field):
    answer = send(browser, items["pump_strainer"], {"field": field}, **HTMX)

    assert answer.status_code == 404


def test_figure_judges_the_wrenches_anew(browser, items):
    Tool.objects.create(
        household=items["lug_recheck"].rig.household,
        kind="torque_wrench",
        name="Click wrench",
        drive="1/2",
        unit="ft·lbf",
        lowest_mark=25,
        full_scale=150,
        calibrated_on=TODAY,
    )

    answer = enter(browser, items["lug_recheck"], "figure", "160")

    assert 'id="wrenches"' in answer
    assert "Click wrench: not for these nuts" in answer
    assert "160 ft·lbf is outside its range (25 to 150 ft·lbf)." in answer


def test_torque_reached_is_compared_with_the_figure(browser, items):
    item = items["lug_recheck"]
    enter(browser, item, "figure", "110")

    assert "below the specified 110 ft·lbf" in enter(
        browser, item, "m_torque_LF", "105"
    )
    assert "reached" in enter(browser, item, "m_torque_LF", "110")


# --- the whole sheet, without script ------------------------------------


def test_whole_sheet_is_kept_by_its_button(browser, items):
    item = items["battery_rest_volts"]
    data = {first_step(item): "on", "m_rested_voltage": "12,7", "note": "at rest"}

    answer = send(browser, item, data | {"save": ""}, follow=True)

    assert answer.redirect_chain[-1][0] == f"{url(item)}#sheet"
    assert kept(item) == {
        first_step(item): "on",
        "m_rested_voltage": "12.7",
        "note": "at rest",
    }


def test_record_it_keeps_the_sheet_and_goes_on_to_the_record(browser, items):
    item = items["battery_rest_volts"]

    answer = send(browser, item, {"m_rested_voltage": "12.7", "record": ""})

    assert answer["Location"] == f"/rigs/{item.rig_id}/record/?item={item.pk}"
    assert kept(item) == {"m_rested_voltage": "12.7"}


def test_wrong_value_keeps_the_page_and_all_that_was_typed(browser, items):
    item = items["battery_rest_volts"]
    data = {"m_rested_voltage": "full", "note": "at rest", "record": ""}

    text = send(browser, item, data).content.decode()

    assert "isn&#x27;t a number" in text
    assert 'value="full"' in text
    assert "at rest" in text
    assert "Before you begin" in text


def test_old_sheet_is_not_shown(browser, items, crew):
    item = items["pump_strainer"]
    then = timezone.now() - timedelta(days=7)
    keep(item, by=crew, now=then, field=first_step(item), value="on")

    assert f"0 of {len(steps(item))} steps" in text_of(browser, item)


# --- wheels, places, papers ------------------------------------


def test_wheels_of_an_open_follow_up_stand_first_and_the_rest_aside(browser, items):
    item = items["lug_recheck"]
    item.standing.result["pending"] = [
        {
            "kind": "after",
            "opens": "2026-05-04",
            "closes": "2026-05-09",
            "places": ["LR"],
        }
    ]
    item.standing.save()

    sheet = browser.get(url(item)).context["page"].sheet

    assert [row.place for row in sheet.rows] == ["LR"]
    assert [row.place for row in sheet.rest] == ["LF", "RF", "RR"]


def test_without_a_follow_up_all_wheels_are_asked_for(browser, items):
    sheet = browser.get(url(items["lug_recheck"])).context["page"].sheet

    assert len(sheet.rows) == 4
    assert sheet.rest == []


def test_further_places_stand_aside_until_they_have_a_name(browser, items):
    item = items["weigh_loaded"]
    enter(browser, item, "at_4", "Tongue")

    sheet = browser.get(url(item)).context["page"].sheet

    assert [row.place for row in sheet.rows] == ["at_1", "at_2", "at_4"]


def test_same_limits_of_several_things_are_said_once(browser, items):
    sheet = browser.get(url(items["tire_wear_pattern"])).context["page"].sheet

    assert [column.names for column in sheet.columns] == [
        ("inner groove", "middle groove", "outer groove")
    ]


def test_makers_torque_stands_in_the_sheet(browser, items):
    item = items["lug_recheck"]
    maker = MakerFigure.objects.create(item=item, document="Book", entered_on=TODAY)
    maker.values.create(name="torque", value=Decimal(140), unit="ft·lbf")

    form = browser.get(url(item)).context["page"].sheet.form

    assert (form["figure"].value(), form["origin"].value()) == ("140", "manual")


def test_paper_says_when_it_expires_and_takes_the_printed_date(browser, items):
    item = items["registration_renewal"]
    assert "Enter date on paper" in text_of(browser, item)

    data = {"expires": "2099-06-30"}
    answer = browser.post(reverse("paper_date", args=[item.pk]), data)
    assert "right. Check the date" in answer.content.decode()

    next_year = item.rig.household.today() + timedelta(days=300)
    browser.post(reverse("paper_date", args=[item.pk]), {"expires": next_year})
    assert "as printed on the paper" in text_of(browser, item)


def test_item_without_a_procedure_can_still_be_noted_and_recorded(browser, crew):
    item = builders.make_item(builders.make_rig(crew.household), "old_key")

    text = text_of(browser, item)

    assert "Notes for the record" in text
    assert "Record it" in text


def test_item_off_the_plan_has_no_sheet(browser, items):
    item = items["pump_strainer"]
    item.dropped_on, item.why_dropped = TODAY, "sold the pump"
    item.save()

    text = text_of(browser, item)

    assert "sold the pump" in text
    assert 'id="sheet"' not in text


# --- who, and how much it costs ------------------------------------


def test_viewer_and_stranger_send_no_sheet(items, client_as):
    item = items["pump_strainer"]
    viewer = client_as(builders.make_member(item.rig.household, Role.VIEWER))
    stranger = client_as(builders.make_member())

    assert send(viewer, item, {"note": "x"}).status_code == 403
    assert send(stranger, item, {"note": "x"}).status_code == 404


def test_sheet_is_sent_by_post_alone(browser, items):
    item = items["pump_strainer"]

    assert browser.get(reverse("keep_sheet", args=[item.pk])).status_code == 405


@pytest.mark.parametrize("key", ["lug_recheck", "pump_strainer", "weigh_loaded"])
def test_page_costs_the_same_queries_however_much_there_is(
    browser, items, crew, key, django_assert_max_num_queries
):
    item, household = items[key], crew.household
    for number in range(30):
        Tool.objects.create(household=household, kind="other", name=f"Tool {number}")
        item.completions.create(on=TODAY - timedelta(days=number), outcome="done")
        keep(item, by=crew, now=timezone.now(), field=f"m_{number}", value="1")
    browser.get(url(item))

    with django_assert_max_num_queries(20):
        browser.get(url(item))


def test_groove_far_below_its_neighbors_then_not_within_the_limit(browser, items):
    """3, 8 and 8/32 in on one tire: above 49 CFR 393.75(c), and an alignment job."""
    item = items["tire_wear_pattern"]
    grooves = {"m_inner_groove_LR": "3", "m_middle_groove_LR": "8"}
    send(browser, item, grooves | {"m_outer_groove_LR": "8"})

    said = text_of(browser, item)

    assert "5/32 in below 8/32 in, uneven across the tire" in said
    assert said.count("within the limit") == 2
