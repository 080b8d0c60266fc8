"""Every fact of a rig is listed, corrected and withdrawn, each with a reason."""

import re
from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from maintenance.core.facts import Calendar
from maintenance.core.timeline import RigTimeline
from maintenance.households.models import ActivityEntry
from maintenance.plans.fact_data import counted_on
from maintenance.plans.models import Standing
from maintenance.plans.services import take_on
from maintenance.plans.standings import recheck, renew_household
from maintenance.service_records.work import Line
from maintenance.vehicles import services
from maintenance.vehicles.models import Reading, SevereDuty, Stay, Trip
from maintenance.vehicles.queries import rig_facts
from maintenance.vehicles.trips import plan_trip
from tests import builders
from tests.builders import TODAY
from tests.packets.reading import history_of

ON = date(2026, 5, 1)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Juniper")
    for on, value in (("2026-03-02", 39780), ("2026-04-01", 40080)):
        builders.make_reading(rig, date.fromisoformat(on), value)
    take_on(rig, by=keeper, today=date(2026, 4, 1), keys=["lug_recheck", "engine_oil"])
    renew_household(rig.household, as_of=TODAY)
    return rig


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def correct(browser):
    """Correct a fact through its form, filled as it is shown."""

    def send(kind, pk, form=None, **changed):
        page = reverse("correct_fact", args=[kind, pk])
        form = form or browser.get(page).context["form"]
        sent = {name: form[name].value() for name in form.fields}
        sent = {name: value for name, value in sent.items() if value is not None}
        return browser.post(page, sent | {"why": "slip"} | changed, follow=True)

    return send


@pytest.fixture
def withdraw(browser):
    def send(kind, pk, why="never was", browser=browser):
        page = reverse("withdraw_fact", args=[kind, pk])
        return browser.post(page, {"why": why}, follow=True)

    return send


def words(answer):
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return unescape(re.sub(r"\s+", " ", text))


def standings(rig):
    """As they count today, whenever they were reckoned."""
    return [
        (one.standing, one.result, counted_on(one.why, one.as_of, TODAY))
        for item in rig.plan_items.order_by("pk")
        for one in [Standing.objects.get(item=item)]
    ]


def same_as_from_scratch(rig):
    return recheck(rig.household, as_of=TODAY) == []


def window(rig):
    found = rig.plan_items.get(key="lug_recheck").standing.result["window"]
    return found and (found["opens"]["value"], found["closes"]["value"])


def logged(what):
    return ActivityEntry.objects.get(what=what).about


# --- readings -------------------------------------------------------------------------


def read(rig, keeper, value, on=ON, **more):
    return services.record_reading(
        rig.meters.get(), by=keeper, today=TODAY, on=on, value=Decimal(value), **more
    )


def test_reading_is_listed_corrected_and_its_old_value_stays_readable(
    rig, keeper, correct, browser
):
    reading = read(rig, keeper, 40380)
    page = reverse("rig_events", args=[rig.pk])
    assert "40,380 mi Reading" in words(browser.get(page))

    correct("reading", reading.pk, value="40,390")

    reading.refresh_from_db()
    assert reading.value == 40390
    assert "40,380 mi on May 1, 2026 → Odometer 40,390 mi" in logged(
        "corrected reading"
    )
    assert "(slip)" in words(browser.get(page))
    assert same_as_from_scratch(rig)


def test_corrected_reading_goes_through_the_gate(rig, keeper, correct):
    reading = read(rig, keeper, 40380)

    asked = correct("reading", reading.pk, value="403900")

    assert "Typo: I meant 40,390 mi" in words(asked)
    reading.refresh_from_db()
    assert reading.value == 40380


def test_withdrawn_reading_counts_nowhere(rig, keeper, withdraw, browser):
    before = standings(rig)
    reading = read(rig, keeper, 40380)

    withdraw("reading", reading.pk)

    assert standings(rig) == before
    assert same_as_from_scratch(rig)
    shown = words(browser.get(reverse("rig_events", args=[rig.pk])))
    assert "40,380 mi Reading" not in shown
    assert (
        "withdrew reading: Juniper: Odometer 40,380 mi on May 1, 2026 (never was)"
        in (shown)
    )


def test_withdrawing_needs_a_reason_and_works_once(rig, keeper, withdraw):
    reading = read(rig, keeper, 40380)

    withdraw("reading", reading.pk, why=" ")
    reading.refresh_from_db()
    assert not reading.withdrawn

    withdraw("reading", reading.pk)
    assert withdraw("reading", reading.pk).status_code == 404
    assert ActivityEntry.objects.filter(what="withdrew reading").count() == 1


def test_stale_correction_is_answered_with_both_versions(rig, keeper, correct, browser):
    reading = read(rig, keeper, 40380)
    page = reverse("correct_fact", args=["reading", reading.pk])
    stale = browser.get(page).context["form"]
    correct("reading", reading.pk, value="40390")

    answer = words(correct("reading", reading.pk, form=stale, value="40395"))

    assert "It now says: Odometer 40,390 mi" in answer
    assert "You typed: Odometer 40,395 mi" in answer


def test_reading_of_a_record_is_corrected_through_that_record(rig, keeper, browser):
    record = builders.log_work(
        rig, by=keeper, lines=[Line("Wash")], values={"odometer": Decimal(40380)}
    )
    reading = record.readings.get()

    for act, page in (("correct", "amend_record"), ("withdraw", "void_record")):
        answer = browser.get(reverse(f"{act}_fact", args=["reading", reading.pk]))
        assert answer["Location"] == reverse(page, args=[record.pk])


def test_fuel_stop_is_corrected_and_withdrawn(rig, keeper, correct, withdraw):
    stop = services.record_fuel_stop(
        rig.meters.get(), by=keeper, today=TODAY, on=ON, value=Decimal(40380),
        volume=Decimal("12.5"), unit="gal", price=Decimal(45),
    )  # fmt: skip

    correct("reading", stop.reading_id, volume="21.5", price="77.40")

    stop.refresh_from_db()
    assert (stop.volume, stop.price) == (Decimal("21.5"), Decimal("77.4"))
    assert "12.5 gal of fuel" in logged("corrected reading")

    withdraw("reading", stop.reading_id)
    assert Reading.objects.get(pk=stop.reading_id).withdrawn


# --- replacements ---------------------------------------------------------------------


def test_replacement_is_corrected_and_withdrawn(rig, keeper, correct, withdraw):
    read(rig, keeper, 40380)
    before = standings(rig)
    made = services.replace_meter(
        rig.meters.get(), by=keeper, today=TODAY, on=TODAY,
        old_final=Decimal(40390), new_start=Decimal(0),
    )  # fmt: skip

    correct("replacement", made.pk, old_final="40400")
    made.refresh_from_db()
    assert made.old_final == 40400
    assert same_as_from_scratch(rig)

    withdraw("replacement", made.pk)
    assert standings(rig) == before
    assert same_as_from_scratch(rig)
    # Its day is free for the right one.
    services.replace_meter(
        rig.meters.get(), by=keeper, today=TODAY, on=TODAY,
        old_final=Decimal(40395), new_start=Decimal(5),
    )  # fmt: skip


# --- events ---------------------------------------------------------------------------


def wheel_off(rig, keeper, value=40380):
    return services.report_event(
        rig, by=keeper, today=TODAY, kind="wheel_off", on=ON,
        values={"odometer": Decimal(value)},
    )  # fmt: skip


def test_withdrawn_event_takes_along_what_it_raised_and_its_reading(
    rig, keeper, withdraw, browser
):
    before = standings(rig)
    event = wheel_off(rig, keeper)
    assert window(rig) == (40430, 40480)
    asked = browser.get(reverse("withdraw_fact", args=["event", event.pk]))
    assert "Its jobs go too: Re-check lug torque" in words(asked)

    withdraw("event", event.pk)

    assert standings(rig) == before
    assert not Reading.objects.filter(value=40380, withdrawn=False).exists()
    assert same_as_from_scratch(rig)


def test_check_already_done_stays_and_says_its_cause_was_withdrawn(
    rig, keeper, withdraw, browser
):
    event = wheel_off(rig, keeper)
    item = rig.plan_items.get(key="lug_recheck")
    record = builders.log_work(
        rig, by=keeper, lines=[Line(item.title, item, "held")],
        values={"odometer": Decimal(40440)},
    )  # fmt: skip
    page = reverse("record", args=[record.pk])
    assert "behind it was voided" not in words(browser.get(page))

    withdraw("event", event.pk)

    said = "The event behind it was voided: Wheel off, May 1, 2026"
    for url in (page, reverse("item", args=[item.pk])):
        assert said in words(browser.get(url)), url
    [year] = history_of(rig).years
    told = [line.cause for one in year.records for line in one.lines]
    assert f"t{said[1:]}" in told
    assert item.completions.filter(withdrawn=False).exists()
    assert same_as_from_scratch(rig)


# --- severe duty ----------------------------------------------------------------------


def test_severe_duty_that_ended_is_corrected_and_withdrawn(
    rig, keeper, correct, withdraw
):
    before = standings(rig)
    duty = services.set_severe_duty(
        rig, by=keeper, today=TODAY, start=date(2026, 4, 1), end=ON, why="dust"
    )

    correct("duty", duty.pk, end="2026-05-03", cause="dust and heat")
    duty.refresh_from_db()
    assert (duty.end, duty.why) == (date(2026, 5, 3), "dust and heat")
    refused = correct("duty", duty.pk, end="2026-03-03")
    assert "The last day is before the first. Enter a later last day." in words(refused)

    withdraw("duty", duty.pk)
    assert standings(rig) == before
    assert SevereDuty.objects.get().withdrawn


def test_severe_duty_is_the_keepers(rig, keeper, client_as, withdraw):
    duty = services.set_severe_duty(rig, by=keeper, today=TODAY, start=ON, end=None)
    crew = client_as(builders.make_member(keeper.household, "crew"))

    assert withdraw("duty", duty.pk, browser=crew).status_code == 403


# --- stays ----------------------------------------------------------------------------


def test_end_of_a_past_stay_is_corrected(rig, keeper, correct):
    stay = services.start_stay(rig, by=keeper, today=TODAY, start=date(2026, 4, 5))
    services.end_stay(stay, by=keeper, today=TODAY, ended_on=date(2026, 4, 20))

    correct("stay", stay.pk, ended_on="2026-04-12")

    stay.refresh_from_db()
    assert stay.ended_on == date(2026, 4, 12)
    entry = logged("corrected stay")
    assert (
        "storage Apr 5\N{EN DASH}20, 2026 → storage Apr 5\N{EN DASH}12, 2026" in entry
    )
    refused = correct("stay", stay.pk, ended_on="2026-04-02")
    assert "Enter that day or a later one" in words(refused)
    assert same_as_from_scratch(rig)


def test_stay_that_is_called_off_is_no_stay(rig, keeper, withdraw, browser):
    before = standings(rig)
    stay = services.start_stay(rig, by=keeper, today=TODAY, start=TODAY)

    withdraw("stay", stay.pk)

    assert standings(rig) == before
    assert same_as_from_scratch(rig)
    assert browser.get(reverse("stay", args=[stay.pk])).status_code == 404
    services.start_stay(rig, by=keeper, today=TODAY, start=TODAY)  # its days are free
    assert Stay.objects.filter(withdrawn=False).count() == 1


# --- trips ----------------------------------------------------------------------------


def trip_of(rig, keeper, start="2026-05-02", end="2026-05-08"):
    return plan_trip(
        rig, by=keeper, today=TODAY, start=date.fromisoformat(start),
        end=date.fromisoformat(end), distance=Decimal(300),
    )  # fmt: skip


def test_trip_called_off_on_its_way_is_no_trip(rig, keeper, browser):
    before = standings(rig)
    trip = trip_of(rig, keeper)

    browser.post(reverse("cancel_trip", args=[trip.pk]))

    trip.refresh_from_db()
    assert trip.withdrawn
    assert standings(rig) == before
    assert same_as_from_scratch(rig)


def test_trip_of_no_distance_did_not_take_place(rig, keeper, browser):
    trip = trip_of(rig, keeper)

    answer = browser.post(
        reverse("tell_trip", args=[trip.pk]),
        {"end": "2026-05-03", "distance": "0"},
        follow=True,
    )

    trip.refresh_from_db()
    assert trip.withdrawn
    assert "trip is canceled" in words(answer)


def test_trip_is_corrected_with_its_readings(rig, keeper, correct, withdraw):
    before = standings(rig)
    trip = trip_of(rig, keeper, "2026-04-10", "2026-04-12")

    correct("trip", trip.pk, hitched_at="40100", unhitched_at="40300")
    trip.refresh_from_db()
    assert (trip.distance, trip.hitched_at) == (200, 40100)
    asked = correct("trip", trip.pk, unhitched_at="403100")
    assert "Typo: I meant 40,310 mi" in words(asked)
    correct("trip", trip.pk, unhitched_at="40310")
    values = Reading.objects.filter(withdrawn=False).values_list("value", flat=True)
    assert sorted(values) == [39780, 40080, 40100, 40310]

    withdraw("trip", trip.pk)
    assert standings(rig) == before
    assert Trip.objects.get().withdrawn
    assert same_as_from_scratch(rig)


def test_reading_of_a_trip_is_corrected_through_that_trip(rig, keeper, withdraw):
    trip = trip_of(rig, keeper, "2026-04-10", "2026-04-12")
    reading = read(rig, keeper, 40100, on=date(2026, 4, 10))
    Trip.objects.filter(pk=trip.pk).update(start_reading=reading)

    assert "Correct that trip" in words(withdraw("reading", reading.pk))


# --- nonsense -------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["nothing", "reading"])
def test_fact_that_is_not_there_is_not_found(kind, rig, browser):
    for act in ("correct", "withdraw"):
        page = reverse(f"{act}_fact", args=[kind, 987654])
        assert browser.get(page).status_code == 404


# --- a hub meter ----------------------------------------------------------------------


def test_reading_of_towed_distance_withdrawn_then_trips_count_again(keeper, withdraw):
    trailer = builders.make_rig(
        keeper.household, kind="travel_trailer", wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
    )  # fmt: skip
    trip_of(trailer, keeper, "2026-04-10", "2026-04-12")
    towed = trailer.meters.get()
    reading = services.record_reading(
        towed, by=keeper, today=TODAY, on=ON, value=Decimal(500)
    )
    assert shown_miles(trailer) == 500

    withdraw("reading", reading.pk)

    assert shown_miles(trailer) == 300


def shown_miles(rig):
    facts = rig_facts([rig], TODAY)[rig.pk].without_items()
    return RigTimeline(facts, Calendar(), TODAY).tracks["towed"].shown_last
