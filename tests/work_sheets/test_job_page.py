"""The page of a job: the figure and its sources, why now as a road, the wheel plan."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.pages.forms import WheelsForm
from maintenance.plans.models import MakerFigure, Outcome
from maintenance.plans.services import take_on
from maintenance.service_records.services import record_work
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line, WorkDone
from maintenance.vehicles.models import DualNuts, WheelLayout
from maintenance.vehicles.services import report_event
from maintenance.work_sheets.kept import kept_of
from tests import builders
from tests.builders import TODAY
from tests.fuzz.pages import Page, sent_by

pytestmark = pytest.mark.either_database

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    rig.wheels, rig.dual_nuts = WheelLayout.SIX, DualNuts.ONE
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
    assert "LF" in [p for p in rig.places if wheels[f"held_{p}"].value()]
    assert not any(wheels[f"reached_{p}"].value() for p in rig.places)


def send(browser, item, **data):
    given = {"figure": "140", "unit": "ft·lbf", "origin": "invoice", **data}
    return browser.post(reverse("keep_sheet", args=[item.pk]), {"record": "", **given})


HELD_ALL = {f"moved_{place}": "held" for place in ("LF", "RF", "LRO", "RRO")}


def test_sets_that_were_not_checked_are_all_named_and_what_was_tapped_is_kept(
    browser, lug
):
    answer = send(browser, lug, moved_LF="held", moved_LRO="on", note="Cold hubs")

    assert answer.status_code == 200
    assert "Right front, one wheel: tap Held or Moved." in answer.text
    assert "Right rear, both wheels: tap Held or Moved." in answer.text
    assert "Left front, one wheel: tap" not in answer.text
    kept = kept_of(lug, timezone.now())
    assert (kept["moved_LF"], kept["moved_LRO"]) == ("held", "on")
    assert kept["note"] == "Cold hubs"


def test_all_sets_checked_lead_on_to_the_record(browser, lug):
    assert send(browser, lug, **HELD_ALL).status_code == 302


def test_those_checked_are_recorded_and_the_others_stay_due(browser, lug, rig, keeper):
    """Two of four sets: the others are not said to have held."""
    report_event(rig, by=keeper, today=TODAY, kind="wheel_off", on=TODAY)
    builders.make_reading(rig, TODAY, 42300)
    given = {"moved_LF": "held", "moved_LRO": "held", "record": "checked"}

    there = send(browser, lug, **given).url
    forms = browser.get(there).context["forms"]

    held = [p for p in rig.places if forms.wheels[f"held_{p}"].value()]
    assert held == ["LF", "LRO", "LRI"]


def test_what_the_record_page_shows_is_sent_and_completes_those_alone(
    browser, lug, rig, keeper
):
    """By the page as it is rendered: what it does not show is not sent."""
    report_event(rig, by=keeper, today=TODAY, kind="wheel_off", on=TODAY)
    given = {"moved_LF": "held", "moved_LRO": "held", "record": "checked"}
    there = send(browser, lug, **given).url
    page = Page(browser.get(there).text)
    form = next(one for one in page.forms if "lines-0-item" in one.fields)

    answer = browser.post(there, sent_by(form) | {"meter_odometer": "42,380"})

    assert answer.status_code == 302, Page(answer.text).forms
    assert lug.completions.get().places == ["LF", "LRO", "LRI"]


def test_held_wheels_alone_are_completed(rig, keeper, lug):
    wheels = Wheels(
        figure=Decimal(140), origin="invoice", held=frozenset({"LF", "LRO", "LRI"})
    )
    work = WorkDone(
        rig=rig,
        on=TODAY,
        lines=[Line(item=lug, title=lug.title, outcome=Outcome.HELD)],
        doer="Mara",
        wheels=wheels,
    )

    record_work(work, by=keeper, today=TODAY)

    assert lug.completions.get().places == ["LF", "LRO", "LRI"]


def test_a_wheel_cannot_have_held_and_moved(rig):
    data = {"held_LF": "on", "moved_LF": "on", "unit": "ft·lbf"}

    form = WheelsForm(data, rig=rig)

    assert "not both" in str(form.errors["held_LF"])


# --- two nuts on one stud ------------------------------------


@pytest.fixture
def unsure(rig):
    rig.dual_nuts = ""
    rig.save()


@pytest.mark.usefixtures("unsure")
def test_nuts_of_duals_are_asked_about_once(browser, lug, rig):
    page = page_of(browser, lug)
    assert "how many nuts on each stud" in page.text
    assert [one.name for one in page.context["page"].nuts] == [
        "Left front",
        "Right front",
    ]

    browser.post(reverse("keep_sheet", args=[lug.pk]), {"dual_nuts": "one"})

    page = page_of(browser, lug)
    assert "how many nuts on each stud" not in page.text
    assert len(page.context["page"].nuts) == 4


@pytest.mark.usefixtures("unsure")
def test_two_nuts_on_a_stud_are_a_shops(browser, lug, rig):
    browser.post(
        reverse("keep_sheet", args=[lug.pk]), {"dual_nuts": "two", "moved_LF": "held"}
    )

    page = page_of(browser, lug)
    assert "Leave the dual wheels to a shop." in page.text
    assert len(page.context["page"].nuts) == 2
    assert page.context["page"].nuts[0].answer == "held"  # nothing tapped was lost


@pytest.mark.usefixtures("unsure")
def test_without_an_answer_the_duals_are_not_recorded_as_checked(browser, lug):
    answer = send(browser, lug, moved_LF="held", moved_RF="held")

    assert answer.status_code == 200
    assert "First choose how many nuts" in answer.text


# --- what follows, and folds ------------------------------------


def test_both_outcomes_say_what_follows(browser, lug, rig):
    text = page_of(browser, lug).text
    oil = page_of(browser, rig.plan_items.get(key="engine_oil")).text

    assert "All held" in text
    assert "A nut moved" in text
    assert "It comes due again" in oil


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
