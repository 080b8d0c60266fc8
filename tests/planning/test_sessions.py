"""Work done together: windows in days, what is shared, late and optional jobs."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from maintenance.library.reading import load_library
from maintenance.planning.sessions.jobs import window_days
from maintenance.planning.sessions.page import sessions_page
from maintenance.plans.models import Completion, Deferral, Standing
from maintenance.plans.standings import renew_household
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def household(db):
    return builders.make_household()


@pytest.fixture
def coach(household):
    return builders.make_rig(household, name="Coach")


def due(rig, key, closes):
    """An item whose window closes on a day; it opens by a tenth of its interval before.
    It was done ten days ago, or ten days before its day."""
    until = date.fromisoformat(closes)
    last = min(TODAY, until) - timedelta(days=10)
    rules = [{"every": {"days": (until - last).days}}]
    item = builders.make_item(rig, key, triggers=rules)
    Completion.objects.create(item=item, on=last, outcome="done")
    return item


def page(household, days=90):
    renew_household(household, as_of=TODAY)
    return sessions_page(household, TODAY, days)


def keys(session):
    return {line.item.key for line in session.jobs}


def of_library(wanted):
    return [p.key for p in load_library().procedures.values() if wanted(p)]


def test_jobs_of_several_rigs_whose_windows_meet_make_one_sitting(household, coach):
    other = builders.make_rig(household, name="Van")
    due(coach, "wash", "2026-05-10")
    due(other, "wax", "2026-05-10")
    due(coach, "polish", "2026-05-30")

    found = page(household)

    assert [keys(one) for one in found.sessions][:1] == [{"wash", "wax"}]
    assert found.jobs == 3
    assert len(found.sessions) == 2


def test_late_job_is_said_to_be_late_and_stands_first(household, coach):
    due(coach, "wash", "2026-04-20")

    (session,) = page(household).sessions

    assert session.jobs[0].late
    assert session.opens == TODAY


def test_wheel_off_jobs_go_together_and_say_so(household, coach):
    one, two = (
        of_library(lambda p: "wheel_off" in p.raises and p.who == "practiced_owner")[:2]
        or of_library(lambda p: "wheel_off" in p.raises)[:2]
    )
    due(coach, one, "2026-06-10")
    due(coach, two, "2026-06-10")

    (session,) = page(household).sessions

    assert keys(session) == {one, two}
    assert "wheels off Coach" in session.shares


def test_wheels_off_on_one_rig_are_no_access_to_another(household, coach):
    (key, other) = of_library(lambda p: "wheel_off" in p.raises)[:2]
    due(coach, key, "2026-06-10")
    due(builders.make_rig(household, name="Van"), other, "2026-06-10")

    shares = [name for one in page(household).sessions for name in one.shares]

    assert not any(name.startswith("wheels off") for name in shares)


def test_shop_jobs_make_a_visit_of_their_own_after_the_usual_wait(household, coach):
    key = of_library(lambda p: p.who == "shop")[0]
    due(coach, key, "2026-05-06")
    due(coach, "wash", "2026-05-10")

    shop = next(one for one in page(household).sessions if one.shop)

    assert keys(shop) == {key}
    assert shop.opens == TODAY + timedelta(days=21)
    assert shop.jobs[0].late


def test_what_closes_after_the_span_is_left_out_or_done_along(household, coach):
    ladder = of_library(lambda p: "Ladder" in p.tools and p.who == "owner")[:3]
    due(coach, ladder[0], "2026-05-10")
    item = builders.make_item(coach, ladder[1], triggers=[{"every": {"months": 12}}])
    Completion.objects.create(item=item, on=date(2025, 6, 6), outcome="done")
    due(coach, "wash", "2026-08-30")

    found = page(household, 30)

    assert found.jobs == 1
    (session,) = found.sessions
    assert [line.item for line in session.along] == [item]  # opens 7 May, by 6 June


def test_deferred_job_waits_for_its_day(household, coach):
    item = due(coach, "wash", "2026-05-10")
    Deferral.objects.create(item=item, until=date(2026, 5, 25), why="Rain")

    (session,) = page(household).sessions

    assert session.opens == date(2026, 5, 25)


@pytest.mark.parametrize(
    ("early", "closes"),
    [("2026-06-20", date(2026, 6, 20)), ("2026-06-01", date(2026, 7, 1))],
)
def test_window_on_a_meter_closes_early_where_that_is_after_it_opens(early, closes):
    point = {"meter": "odometer", "value": 1}
    forecast = {
        "opens": {"early": None, "likely": "2026-06-10", "late": None},
        "closes": {"early": early, "likely": "2026-07-01", "late": None},
    }
    row = Standing(result={"window": {"opens": point, "closes": point}})
    row.result["forecast"] = forecast
    row.item = builders.PlanItem()

    assert window_days(row) == (date(2026, 6, 10), closes)


def test_window_on_a_meter_without_a_day_is_none():
    point = {"meter": "odometer", "value": 1}
    row = Standing(result={"window": {"opens": point, "closes": point}})

    assert window_days(row) is None


def test_page_links_each_job_and_takes_the_span(client_as, household, coach, clock):
    clock("2026-05-04")
    item = due(coach, "wash", "2026-05-10")
    client = client_as(builders.make_member(household))

    text = client.get(reverse("sittings"), {"days": "30"}).text

    assert reverse("item", args=[item.pk]) in text
    assert '<option value="30" selected>' in text
    assert '<option value="90" selected>' in client.get("/together/?days=x").text


def test_page_asks_the_same_of_the_database_for_many_items(
    client_as,
    household,
    coach,
    clock,
    django_assert_num_queries,
    django_assert_max_num_queries,
):
    clock("2026-05-04")
    client = client_as(builders.make_member(household))
    due(coach, "thing", "2026-05-10")
    renew_household(household, as_of=TODAY)
    with django_assert_max_num_queries(20) as few:
        client.get(reverse("sittings"))
    for n in range(30):
        due(coach, f"thing_{n}", "2026-05-10")
    renew_household(household, as_of=TODAY)
    with django_assert_num_queries(len(few)):
        client.get(reverse("sittings"))
