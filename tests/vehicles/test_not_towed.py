"""That a rig was not towed since a day: said, reckoned with, put right, and asked."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.core import facts
from maintenance.core.facts import TOW_ODOMETER
from maintenance.core.timeline import RigTimeline
from maintenance.households.models import ActivityEntry
from maintenance.households.refusals import Refused
from maintenance.plans.models import Standing
from maintenance.plans.standings import recheck, renew_household
from maintenance.reminders.queries import items_now, meter_of
from maintenance.vehicles import hubs
from maintenance.vehicles.correcting import correct_fact, withdraw_fact, words_of
from maintenance.vehicles.models import NotTowed
from maintenance.vehicles.not_towed import asks_towed, say_not_towed, towed_since
from maintenance.vehicles.queries import meters_asked, rig_facts
from maintenance.vehicles.services import report_event
from tests import builders
from tests.builders import TODAY

TRIP_END = date(2026, 3, 1)
SINCE = date(2026, 4, 1)
CHECK = {
    "after": {"event": "wheel_off", "distance": [50, 100], "unit": "mi",
              "meter": "towed"},
}  # fmt: skip


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def wren(keeper):
    rig = builders.make_rig(
        keeper.household,
        name="Wren",
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
        in_service_on=date(2024, 5, 1),
    )
    for end in (date(2025, 6, 1), date(2025, 8, 1), TRIP_END):
        rig.trips.create(
            title="Lake", start=end - timedelta(9), end=end, distance=900, told_on=end
        )
    return rig


@pytest.fixture
def check(wren):
    """A wheel was off since the last trip: a check that habit soon expects."""
    wren.events.create(kind="wheel_off", on=date(2026, 3, 5))
    return builders.make_item(wren, "lug_recheck", triggers=[CHECK], safety=True)


def say(rig, keeper, since=SINCE, today=TODAY):
    return say_not_towed(rig, by=keeper, today=today, since=since)


def renewed(rig, as_of=TODAY):
    renew_household(rig.household, as_of=as_of)
    return Standing.objects.get(item__rig=rig)


def known(rig):
    found = rig_facts([rig], TODAY)[rig.pk].without_items()
    return RigTimeline(found, facts.Calendar(), TODAY).tracks["towed"].known_on


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def test_what_is_said_is_the_last_evidence_and_kept_once(wren, keeper):
    assert (known(wren), towed_since(wren)) == (TRIP_END, TRIP_END)

    said = say(wren, keeper)

    assert (said.said_on, said.since) == (TODAY, SINCE)
    assert say(wren, keeper) == said
    assert (known(wren), towed_since(wren)) == (TODAY, TODAY)
    about = ActivityEntry.objects.get(what="entered not towed").about
    assert about == "Wren: not towed since Apr 1, 2026, as of May 4, 2026"
    assert recheck(keeper.household, as_of=TODAY) == []


@pytest.mark.parametrize(
    ("since", "words"),
    [
        (TODAY + timedelta(1), "Enter May 4, 2026 or an earlier day."),
        (TRIP_END - timedelta(1), "“Lake” was closed out for Mar 1, 2026"),
    ],
)
def test_what_cannot_be_is_refused(wren, keeper, since, words):
    with pytest.raises(Refused, match=words) as refused:
        say(wren, keeper, since)
    assert refused.value.field == "since"


def test_where_a_meter_tells_it_there_is_no_need(wren, keeper):
    hubs.fit_hub(wren, by=keeper, today=TODAY, on=TODAY, value=Decimal(0))
    assert asks_towed(wren, TODAY) is None
    with pytest.raises(Refused, match="no need"):
        say(wren, keeper)


def test_a_car_towed_behind_is_asked_where_its_odometer_does_not_count(keeper):
    car = builders.make_rig(keeper.household, name="Mule")
    coach = builders.make_rig(keeper.household)
    trip = coach.trips.create(
        start=TRIP_END, end=TRIP_END, distance=50, told_on=TRIP_END, towed_car=car
    )
    assert asks_towed(car, TRIP_END) is None  # nothing was towed before that day
    assert asks_towed(car, TODAY).question == "Mule: towed since Mar 1, 2026?"
    say(car, keeper)
    assert known(car) == TODAY
    assert asks_towed(car, TODAY) is None

    trip.towed_car_counts = True
    trip.save()
    assert asks_towed(car, TODAY + timedelta(1)) is None


def test_it_is_corrected_and_withdrawn_with_a_reason(wren, keeper):
    said = say(wren, keeper)
    corrected = correct_fact(
        said,
        by=keeper,
        today=TODAY,
        why="looked it up",
        seen=words_of(said),
        columns={"since": TRIP_END, "said_on": date(2026, 4, 20)},
    )
    assert words_of(corrected) == "not towed since Mar 1, 2026, as of Apr 20, 2026"
    assert known(wren) == date(2026, 4, 20)

    withdraw_fact(corrected, by=keeper, today=TODAY, why="it was towed")
    assert known(wren) == TRIP_END
    assert ActivityEntry.objects.filter(what="withdrew not towed").exists()


def test_what_is_due_by_expectation_stays_due_and_silent(wren, keeper, check):
    late = date(2026, 9, 1)
    assert (renewed(wren, late).standing, renewed(wren, late).expected) == ("due", True)
    (before,) = items_now(keeper.household, today=late)
    assert before.silent_until is None

    say(wren, keeper, today=late)

    assert (renewed(wren, late).standing, renewed(wren, late).expected) == ("due", True)
    (now,) = items_now(keeper.household, today=late)
    assert now.silent_until == late + timedelta(14)


def test_due_asks_by_expectation_until_it_is_answered(
    wren, check, client_as, clock, keeper
):
    clock("2026-09-01 12:00", "America/Denver")
    browser = client_as(keeper)
    due, page = reverse("due"), reverse("say_not_towed", args=[wren.pk])
    assert "Wren: towed since Mar 1, 2026?" in browser.get(due).content.decode()

    answer = browser.post(page, {"since": "2026-03-01"}, follow=True)

    assert "not towed since Mar 1, 2026, as of Sep 1, 2026" in answer.content.decode()
    assert NotTowed.objects.get().entered_by == keeper
    clock("2026-09-05 12:00", "America/Denver")
    assert "towed since" not in browser.get(due).content.decode()
    rig = browser.get(reverse("rig", args=[wren.pk])).content.decode()
    assert "Wren: towed since Sep 1, 2026?" in rig


def test_its_pages_ask_list_and_correct(wren, browser):
    rig = browser.get(reverse("rig", args=[wren.pk])).content.decode()
    assert "Wren: towed since Mar 1, 2026?" in rig
    assert reverse("give_reading", args=[wren.pk]) in rig

    page = reverse("say_not_towed", args=[wren.pk])
    assert 'value="2026-03-01"' in browser.get(page).content.decode()
    early = browser.post(page, {"since": "2026-02-01"}).content.decode()
    assert "it was towed then" in early
    assert 'value="2026-02-01"' in early
    browser.post(page, {"since": "2026-04-01"})

    said = NotTowed.objects.get()
    listed = browser.get(reverse("rig_events", args=[wren.pk])).content.decode()
    assert "Not towed" in listed
    assert "since Apr 1, 2026" in listed
    correct = reverse("correct_fact", args=["not-towed", said.pk])
    assert correct in listed
    form = browser.get(correct).context["form"]
    sent = {name: form[name].value() for name in form.fields}
    browser.post(correct, sent | {"since": "2026-04-02", "why": "slip"})
    said.refresh_from_db()
    assert said.since == date(2026, 4, 2)


# --- what no meter shows --------------------------------------------------------------


def test_the_meter_card_says_what_was_towed(wren, browser):
    url = reverse("use_chart", args=[wren.pk, "towed"])
    assert f'data-hx-get="{url}"' in browser.get(f"/rigs/{wren.pk}/").content.decode()
    card = browser.get(url).content.decode()
    assert "2,700 mi since its first trip on May 23, 2025, as of Mar 1, 2026" in card
    wren.trips.all().delete()
    card = browser.get(reverse("rig_use", args=[wren.pk])).content.decode()
    assert "No trip closed out yet" in card


def test_no_form_asks_what_no_meter_shows(wren, keeper, browser):
    item = builders.make_item(wren, "lug_recheck", triggers=[CHECK], safety=True)
    assert meter_of(item, meters_asked(wren)) is None
    for page in ("report_event", "record_work"):
        assert "Towed distance showed" not in text(browser, page, wren)

    hubs.fit_hub(wren, by=keeper, today=TODAY, on=TODAY, value=Decimal(9))
    for page in ("report_event", "record_work"):
        assert "Towed distance showed" in text(browser, page, wren)
    assert meter_of(item, meters_asked(wren)).kind == "towed"


def text(browser, page, rig):
    return browser.get(reverse(page, args=[rig.pk])).content.decode()


def test_a_figure_that_was_given_before_is_kept_when_its_event_is_corrected(
    wren, browser
):
    event = wren.events.create(
        kind="wheel_off", on=date(2026, 3, 5), values={"towed": "2700.0"}
    )
    page = reverse("correct_event", args=[event.pk])
    form = browser.get(page).context["form"]
    sent = {name: form[name].value() for name in form.fields}
    browser.post(page, sent | {"note": "a flat", "why": "more to say"})
    event.refresh_from_db()
    assert (event.note, event.values) == ("a flat", {"towed": "2700.0"})


def test_the_row_of_an_event_shows_what_its_tow_vehicle_s_odometer_showed(
    wren, keeper, browser
):
    mule = builders.make_rig(keeper.household, name="Mule")
    builders.make_reading(mule, date(2026, 5, 1), 40000)
    wren.trips.create(start=date(2026, 5, 2), end=TODAY, distance=300, tow_vehicle=mule)
    report_event(
        wren, by=keeper, today=TODAY, kind="wheel_off", on=date(2026, 5, 3),
        values={TOW_ODOMETER: Decimal(40200)}, places=["L1"],
    )  # fmt: skip
    listed = text(browser, "rig_events", wren)
    assert "Mule&#x27;s odometer 40,200 mi, at L1" in listed
