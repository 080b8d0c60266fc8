"""A rig is set up: what it has, the plan proposed from that, and coming back to it."""

from datetime import date

import pytest
from django.urls import reverse

from maintenance.plans.drafts import draft_plan
from maintenance.plans.models import PlanItem
from maintenance.plans.services import drop_item, settle_plan, take_on
from tests import builders

TODAY = builders.TODAY
HAS = ["engine_gasoline", "hydraulic_brakes", "generator"]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household, equipment=HAS)


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def browser(keeper, client_as):
    return client_as(keeper)


def page_of(rig):
    return reverse("propose_plan", args=[rig.pk])


def keys_of(draft):
    return [row.key for row in draft.rows]


def on_plan(rig):
    return set(rig.plan_items.active().values_list("key", flat=True))


def test_plan_is_proposed_by_system_with_reason_rules_and_minutes(rig, browser):
    text = browser.get(page_of(rig)).content.decode()

    assert "Chassis and engine" in text
    assert "Because it&#x27;s a motorhome and it has a gasoline engine." in text
    assert "Every 5,000 mi, in severe duty every 3,000 mi" in text
    assert "60 minutes, once a year, by you, if handy." in text


def test_total_is_the_sum_of_its_parts(rig):
    draft = draft_plan(rig, TODAY)
    own = sum(row.minutes for row in draft.rows if not row.by_shop)

    assert draft.total.startswith(f"about {round(own / 60)} hours a year by you")


def test_all_is_ticked_and_taken_with_one_click(rig, browser):
    proposed = keys_of(draft_plan(rig, TODAY))

    answer = browser.post(page_of(rig), {"keys": proposed})

    assert answer["Location"] == reverse("baselines", args=[rig.pk])
    assert on_plan(rig) == set(proposed)
    text = browser.get(page_of(rig)).content.decode()
    assert "Every job we suggest for this rig is on its plan." in text


def test_what_is_left_is_not_proposed_as_new_again(rig, browser):
    keys = keys_of(draft_plan(rig, TODAY))
    keys.remove("engine_oil")

    browser.post(page_of(rig), {"keys": keys})

    draft = draft_plan(rig, TODAY)
    assert (draft.rows, [row.key for row in draft.earlier]) == ([], ["engine_oil"])
    assert "engine_oil" not in on_plan(rig)


def test_what_was_left_can_be_taken_later(rig, browser):
    keys = keys_of(draft_plan(rig, TODAY))
    browser.post(page_of(rig), {"keys": [key for key in keys if key != "engine_oil"]})

    browser.post(page_of(rig), {"keys": ["engine_oil"]})

    assert "engine_oil" in on_plan(rig)


def test_safety_item_left_without_a_word_is_named_and_nothing_is_lost(rig, browser):
    keys = [key for key in keys_of(draft_plan(rig, TODAY)) if key != "lug_recheck"]
    keys.remove("engine_oil")

    answer = browser.post(page_of(rig), {"keys": keys})

    text = answer.content.decode()
    assert "enter why they&#x27;re left out" in text
    assert "<li>Re-check lug torque after a wheel was off</li>" in text
    assert answer.context["form"].chosen == keys
    assert not rig.plan_items.exists()


def test_safety_item_left_with_a_word_keeps_it(rig, browser):
    keys = [key for key in keys_of(draft_plan(rig, TODAY)) if key != "lug_recheck"]

    browser.post(page_of(rig), {"keys": keys, "why": "The tire shop does it."})

    left = rig.plan_items.get(key="lug_recheck")
    assert (left.dropped_on, left.why_dropped) == (TODAY, "The tire shop does it.")


def test_new_equipment_proposes_what_it_brings_and_rules_out(rig, keeper, browser):
    take_on(rig, by=keeper, today=TODAY, keys=keys_of(draft_plan(rig, TODAY)))
    form = browser.get(reverse("rig_equipment", args=[rig.pk])).context["form"]
    ticked = {name: form[name].initial for name in form.fields}
    group = next(n for n in form.fields if "air_brakes" in dict(form.fields[n].choices))
    ticked[group] = [*ticked[group], "air_brakes"]

    browser.post(reverse("rig_equipment", args=[rig.pk]), ticked)

    rig.refresh_from_db()
    draft = draft_plan(rig, TODAY)
    assert "air_dryer" in keys_of(draft)
    assert {one.because for one in draft.leaving} == {"the rig has air brakes"}


def test_equipment_that_went_proposes_removal_with_the_reason(rig, keeper, browser):
    take_on(rig, by=keeper, today=TODAY, keys=["generator_exercise", "engine_oil"])
    rig.equipment = ["engine_gasoline", "hydraulic_brakes"]
    rig.save()

    text = browser.get(page_of(rig)).content.decode()

    assert "No longer fits: remove from the plan" in text
    assert "the rig doesn&#x27;t have a generator" in text


def test_removal_keeps_the_history(rig, keeper, browser):
    (item,) = take_on(rig, by=keeper, today=TODAY, keys=["generator_exercise"])
    item.completions.create(on=TODAY, outcome="done")
    rig.equipment = ["engine_gasoline"]
    rig.save()
    keys = keys_of(draft_plan(rig, TODAY))

    browser.post(page_of(rig), {"keys": keys, "off": [item.pk]})

    item.refresh_from_db()
    assert (item.dropped_on, item.completions.count()) == (TODAY, 1)
    assert item.why_dropped == "the rig doesn't have a generator"


def test_removal_that_is_unticked_stays_on_the_plan(rig, keeper, browser):
    (item,) = take_on(rig, by=keeper, today=TODAY, keys=["generator_exercise"])
    rig.equipment = ["engine_gasoline"]
    rig.save()

    browser.post(page_of(rig), {"keys": keys_of(draft_plan(rig, TODAY))})

    item.refresh_from_db()
    assert item.dropped_on is None


def test_item_taken_up_again_answers_for_nothing_of_its_time_off(rig, keeper):
    (item,) = take_on(rig, by=keeper, today=date(2024, 1, 1), keys=["hand_wash_look"])
    drop_item(item, by=keeper, today=date(2024, 6, 1), why="no time")

    take_on(rig, by=keeper, today=TODAY, keys=["hand_wash_look"])

    item.refresh_from_db()
    assert (item.taken_on, item.dropped_on, item.why_dropped) == (TODAY, None, "")


def test_made_up_key_is_refused(rig, browser):
    answer = browser.post(page_of(rig), {"keys": ["no_such_thing"]})

    assert answer.status_code == 200
    assert answer.context["form"].errors["keys"]


def test_settling_by_crew_is_not_allowed(rig, client_as):
    crew = builders.make_member(rig.household, "crew")

    assert client_as(crew).post(page_of(rig), {"keys": []}).status_code == 403


def test_service_refuses_to_leave_safety_out_silently(rig, keeper):
    with pytest.raises(Exception, match="Enter why safety jobs are left out"):
        settle_plan(
            rig,
            by=keeper,
            today=TODAY,
            take=[],
            leave=["lug_recheck"],
            drop={},
            why=" ",
        )


def test_plan_page_shows_rules_cost_and_what_is_open(rig, keeper, browser):
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil", "lug_recheck"])

    text = browser.get(reverse("rig_plan", args=[rig.pk])).content.decode()

    assert "Every 5,000 mi, in severe duty every 3,000 mi" in text
    assert "1 job without a record yet." in text
    assert "more suggested." in text


def test_plan_page_takes_the_same_queries_for_many_items(
    rig, keeper, browser, django_assert_max_num_queries
):
    proposed = keys_of(draft_plan(rig, TODAY))
    url = reverse("rig_plan", args=[rig.pk])
    take_on(rig, by=keeper, today=TODAY, keys=proposed[:3])
    with django_assert_max_num_queries(40) as few:
        browser.get(url)
    take_on(rig, by=keeper, today=TODAY, keys=proposed)

    with django_assert_max_num_queries(len(few)):
        browser.get(url)

    assert PlanItem.objects.filter(rig=rig).count() > 50


@pytest.mark.parametrize(
    ("wheels", "ticked"), [("four", False), ("six", True), ("tag", True)]
)
def test_dual_wheels_are_ticked_where_the_rig_was_said_to_have_them(
    keeper, browser, wheels, ticked
):
    rig = builders.make_rig(keeper.household, wheels=wheels)

    page = browser.get(reverse("rig_equipment", args=[rig.pk]))

    assert ("dual_rear_wheels" in _ticked(page.context["form"])) is ticked


def _ticked(form):
    return {key for field in form.fields.values() for key in field.initial}
