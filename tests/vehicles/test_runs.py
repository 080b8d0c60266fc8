"""A generator without an hour meter: its hours are the sum of logged runs."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.models import ActivityEntry
from maintenance.households.refusals import Refused
from maintenance.plans.models import Standing
from maintenance.plans.services import take_on
from maintenance.plans.standings import recheck
from maintenance.vehicles import services
from maintenance.vehicles.correcting import correct_fact, withdraw_fact, words_of
from maintenance.vehicles.models import Run
from maintenance.vehicles.runs import log_run, logged_words
from tests import builders

TODAY = builders.TODAY


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household, equipment=["generator"])


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


def log(rig, keeper, on, hours):
    return log_run(rig, by=keeper, today=TODAY, on=on, hours=Decimal(hours))


def oil(rig):
    every = {"every": {"hours": 150, "meter": "generator"}, "first": {"hours": 20}}
    return builders.make_item(
        rig, "generator_oil", triggers=[every], baseline="in_service"
    )


def closes(item):
    item.standing.refresh_from_db()
    return item.standing.result["window"]["closes"]["value"]


def test_rules_by_hours_count_on_the_log(rig, keeper):
    log(rig, keeper, date(2026, 4, 1), "12.5")
    item = oil(rig)
    log(rig, keeper, date(2026, 4, 20), "8")

    standing = Standing.objects.get(item=item)
    assert (standing.standing, closes(item)) == ("overdue", 20)
    meter = rig.meters.get(kind="generator")
    assert logged_words(meter) == "20.5 h by 2 logged runs, the last on Apr 20, 2026"
    assert recheck(keeper.household, as_of=TODAY) == []


def test_a_run_is_corrected_and_withdrawn_with_a_reason(rig, keeper):
    run = log(rig, keeper, date(2026, 4, 1), "20")
    item = oil(rig)
    log(rig, keeper, date(2026, 4, 2), "1")
    assert Standing.objects.get(item=item).standing == "overdue"

    corrected = correct_fact(
        run,
        by=keeper,
        today=TODAY,
        why="a decimal point",
        seen=words_of(run),
        columns={"on": run.on, "hours": Decimal("2.0")},
    )
    assert Standing.objects.get(item=item).standing != "overdue"
    entry = ActivityEntry.objects.get(what="corrected generator run")
    assert "20 h" in entry.about
    assert "(a decimal point)" in entry.about

    withdraw_fact(corrected, by=keeper, today=TODAY, why="it was the neighbor's")
    assert logged_words(rig.meters.get(kind="generator")).startswith("1 h by 1")
    assert recheck(keeper.household, as_of=TODAY) == []


@pytest.mark.parametrize(
    ("on", "hours", "words"),
    [
        (date(2026, 5, 5), "2", "still to come"),
        (date(2026, 5, 1), "5", "20 h of that day are already entered"),
        (date(2026, 5, 2), "25", "a day has 24"),
        (date(2026, 5, 2), "0", "like 2.5"),
    ],
)
def test_what_cannot_be_is_refused_in_words(rig, keeper, on, hours, words):
    log(rig, keeper, date(2026, 5, 1), "20")
    with pytest.raises(Refused, match=words.replace(".", r"\.")):
        log(rig, keeper, on, hours)
    assert Run.objects.count() == 1


def test_a_meter_fitted_later_goes_on_from_the_log(rig, keeper):
    log(rig, keeper, date(2026, 4, 1), "18")
    item = oil(rig)
    services.fit_meter(
        rig, by=keeper, today=TODAY, kind="generator", unit="h", value=Decimal(3)
    )

    # 20 h true; the meter showed 3 where 18 were run.
    assert closes(item) == 5
    with pytest.raises(Refused, match="hour meter since"):
        log_run(
            rig,
            by=keeper,
            today=date(2026, 5, 6),
            on=date(2026, 5, 5),
            hours=Decimal(1),
        )
    log(rig, keeper, date(2026, 4, 2), "1")  # found on a slip of paper
    assert closes(item) == 4
    assert recheck(keeper.household, as_of=TODAY) == []


def test_a_meter_that_was_fitted_by_mistake_is_withdrawn_and_the_log_counts(
    rig, keeper
):
    log(rig, keeper, date(2026, 4, 1), "18")
    meter = services.fit_meter(
        rig, by=keeper, today=TODAY, kind="generator", unit="h", value=Decimal(3)
    )
    withdraw_fact(meter.readings.get(), by=keeper, today=TODAY, why="it has none")

    log(rig, keeper, TODAY, "1")
    assert logged_words(meter).startswith("19 h by 2")


def test_no_form_asks_what_a_meter_shows_that_is_not_there(rig, keeper, client_as):
    log(rig, keeper, date(2026, 4, 1), "18")
    browser = client_as(keeper)
    for page in ("report_event", "record_work"):
        form = browser.get(reverse(page, args=[rig.pk])).content.decode()
        assert "Generator hours showed" not in form, page
    with pytest.raises(Refused, match="Enter its runs"):
        services.record_reading(
            rig.meters.get(kind="generator"),
            by=keeper,
            today=TODAY,
            on=TODAY,
            value=Decimal(400),
        )


def test_pages_log_list_and_correct_runs(rig, keeper, client_as):
    take_on(rig, by=keeper, today=TODAY, keys=["generator_oil"])
    item = rig.plan_items.get()
    assert not any("hours" in str(rule) for rule in item.triggers)
    browser = client_as(keeper)
    page = browser.get(reverse("rig", args=[rig.pk])).content.decode()
    assert reverse("log_run", args=[rig.pk]) in page

    answer = browser.post(
        reverse("log_run", args=[rig.pk]),
        {"hours": "4.5", "on": "2026-05-01"},
        follow=True,
    )

    text = answer.content.decode()
    assert "Generator hours: 4.5 h by 1 logged run" in text
    assert "no hour meter" in text
    item.refresh_from_db()
    assert any("hours" in str(rule) for rule in item.triggers)
    run = Run.objects.get()
    listed = browser.get(reverse("rig_events", args=[rig.pk])).content.decode()
    assert reverse("withdraw_fact", args=["run", run.pk]) in listed
    browser.post(
        reverse("correct_fact", args=["run", run.pk]),
        {"hours": "5", "on": "2026-05-01", "why": "x", "seen": words_of(run)},
    )
    run.refresh_from_db()
    assert run.hours == 5


def test_the_reading_form_takes_a_run_where_there_is_no_meter(rig, keeper, client_as):
    log(rig, keeper, date(2026, 4, 1), "18")
    meter = rig.meters.get(kind="generator")
    url = reverse("give_reading", args=[rig.pk])
    asked = client_as(keeper).get(url, {"meter": meter.pk}).content.decode()
    assert "Hours run that day" in asked

    client_as(keeper).post(url, {"meter": meter.pk, "value": "2", "on": "2026-05-02"})

    assert [run.hours for run in meter.runs.all()] == [18, 2]
    assert not meter.readings.exists()
