"""The page of a job: the figure and its sources, why now as a road, the wheel plan."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.plans.models import MakerFigure, Outcome
from maintenance.plans.services import take_on
from maintenance.vehicles.models import WheelLayout
from maintenance.vehicles.services import report_event
from maintenance.work_sheets.kept import kept_of
from tests import builders
from tests.builders import TODAY

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    rig.wheels = WheelLayout.SIX
    rig.save()
    builders.make_reading(rig, TODAY, 42300)
    take_on(rig, by=keeper, today=TODAY, keys=["lug_recheck", "engine_oil"])
    return rig


@pytest.fixture
def lug(rig):
    return rig.plan_items.get(key="lug_recheck")


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def page_of(browser, item):
    return browser.get(reverse("item", args=[item.pk]))


def enter(browser, item, **fields):
    for field, value in fields.items():
        data = {"field": field, field: value}
        browser.post(reverse("keep_sheet", args=[item.pk]), data, **HTMX)


def name_makers_figure(item, value):
    maker = MakerFigure.objects.create(item=item, document="Book", entered_on=TODAY)
    maker.values.create(name="torque", value=Decimal(value), unit="ft·lbf")


# --- the figure ------------------------------------


def test_two_sources_that_agree_say_so(browser, lug):
    name_makers_figure(lug, 140)
    enter(browser, lug, figure="140", origin="invoice")

    page = page_of(browser, lug)

    assert page.context["page"].specified.figure == "140"
    assert "call the shop.</p>" not in page.text


def test_sources_that_differ_show_no_figure_and_send_to_the_shop(browser, lug):
    name_makers_figure(lug, 140)
    enter(browser, lug, figure="110", origin="invoice")

    page = page_of(browser, lug)

    assert page.context["page"].specified.figure == ""
    assert "They don't agree: call the shop." in page.text
    assert len(page.context["page"].specified.sources) == 2


def test_one_figure_in_two_units_agrees(browser, lug):
    name_makers_figure(lug, 140)
    enter(browser, lug, unit="N·m", figure="190", origin="invoice")

    assert page_of(browser, lug).context["page"].specified.agree is False
    assert not page_of(browser, lug).context["page"].specified.differ


def test_without_a_figure_it_says_where_to_get_it(browser, lug):
    page = page_of(browser, lug)

    assert page.context["page"].specified.sources == ()
    assert "Never guess" in page.text


# --- why now ------------------------------------


def test_road_runs_from_the_cause_to_the_end_of_the_window(browser, lug, rig, keeper):
    report_event(rig, by=keeper, today=TODAY, kind="wheel_off", on=TODAY, places=["LF"])
    builders.make_reading(rig, TODAY, 42300)

    page = page_of(browser, lug)

    road = page.context["page"].road
    assert road.start <= road.opens < road.closes
    assert road.labels[-1][2] == "closes"
    assert "Why now" in page.text


def test_job_that_waits_has_no_road(browser, lug):
    assert page_of(browser, lug).context["page"].road is None


# --- the wheel plan ------------------------------------


def test_duals_have_one_tile_a_side(browser, lug):
    sets = page_of(browser, lug).context["page"].nuts

    assert [one.name for one in sets] == [
        "Left front",
        "Right front",
        "Left rear",
        "Right rear",
    ]
    assert [one.wheels for one in sets][2:] == ["both wheels", "both wheels"]


def test_nothing_is_chosen_or_reached_beforehand(browser, lug):
    name_makers_figure(lug, 140)

    page = page_of(browser, lug)

    assert [one.answer for one in page.context["page"].nuts] == ["", "", "", ""]
    form = page.context["page"].sheet.form
    assert not [x for x in form.fields if x.startswith("m_") and form[x].value()]


def test_tapping_a_set_is_kept_and_says_which_is_next(browser, lug):
    data = {"field": "moved_LF", "moved_LF": "held"}

    answer = browser.post(reverse("keep_sheet", args=[lug.pk]), data, **HTMX)

    assert "1 of 4 checked. Next: right front." in answer.text
    assert kept_of(lug, timezone.now()) == {"moved_LF": "held"}


@pytest.mark.parametrize(
    ("answers", "outcome", "moved"),
    [
        ({"moved_LF": "held", "moved_LRO": "held"}, Outcome.HELD, []),
        ({"moved_LF": "held", "moved_LRO": "on"}, Outcome.MOVED, ["LRO", "LRI"]),
    ],
)
def test_answers_reach_the_record(browser, lug, rig, answers, outcome, moved):
    enter(browser, lug, **answers)

    url = reverse("record_work", args=[rig.pk])
    forms = browser.get(url, {"item": lug.pk}).context["forms"]

    assert forms.first_line["outcome"].value() == outcome
    wheels = forms.wheels
    assert [p for p in rig.places if wheels[f"moved_{p}"].value()] == moved
    assert forms.first_line["note"].value().startswith("Held: LF")
    assert not any(wheels[f"reached_{p}"].value() for p in rig.places)


# --- what follows, and folds ------------------------------------


def test_both_outcomes_say_what_follows(browser, lug, rig):
    text = page_of(browser, lug).text
    oil = page_of(browser, rig.plan_items.get(key="engine_oil")).text

    assert "All held" in text
    assert "A nut moved" in text
    assert "It comes back by its rule" in oil


def test_folds_say_their_value(browser, lug):
    page = page_of(browser, lug)

    for words in page.context["page"].says.values():
        if words:
            assert words.split(";")[0].split(",")[0] in page.text


def test_enter_in_a_field_records(browser, lug):
    text = page_of(browser, lug).text
    form = text[text.index('<form id="sheet"') :]

    first = form[form.index("<button") : form.index("</button>")]
    assert 'name="record"' in first
