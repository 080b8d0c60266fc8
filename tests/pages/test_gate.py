"""One gate for what a meter showed, at every door: what is typed is said back, asked
about where it does not fit, and what is kept as questionable counts nowhere."""

import re
from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from maintenance.exchange.imports.verdicts import judge
from maintenance.plans.services import take_on
from maintenance.plans.standings import recheck, renew_household
from maintenance.reminders.answer_links import GOOD_FOR, AnswerLink
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import MeterReplacement, Reading
from maintenance.vehicles.trips import plan_trip
from tests import builders
from tests.builders import TODAY
from tests.exchange.helpers import brought, looked_at
from tests.pages.test_corrections import filled

TOKEN = "11111111-2222-3333-4444-555555555555"


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    """Read to 40,380 mi; it did 100 mi in any ten days."""
    rig = builders.make_rig(keeper.household, name="Juniper")
    for on, value in (("2026-03-02", 39780), ("2026-04-01", 40080)):
        builders.make_reading(rig, date.fromisoformat(on), value)
    builders.make_reading(rig, date(2026, 5, 1), 40380)
    take_on(rig, by=keeper, today=date(2026, 4, 1), keys=["lug_recheck", "engine_oil"])
    return rig


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def words(answer):
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return unescape(re.sub(r"\s+", " ", text))


def standing(rig, key):
    return rig.plan_items.get(key=key).standing


# --- a reading ------------------------------------------------------------------------


def read(browser, rig, value, on="2026-05-04", **more):
    data = {"meter": rig.meters.get().pk, "value": value, "on": on, **more}
    return browser.post(reverse("give_reading", args=[rig.pk]), data, follow=True)


def test_reading_that_fits_is_said_back(browser, rig):
    answer = read(browser, rig, "40,440")

    assert "40,440 mi on May 4, 2026: 60 mi since May 1, 2026, 20 mi a day" in words(
        answer
    )


def test_reading_far_outside_the_rigs_habit_is_asked_about(browser, rig):
    answer = read(browser, rig, "44080")

    assert "That's 3,700 mi in 3 days." in words(answer)
    assert "This rig's most so far in that time is 10 mi a day" in words(answer)
    assert not Reading.objects.filter(value=44080).exists()


def test_long_way_that_was_driven_counts(browser, rig):
    read(browser, rig, "44080", doubt="right")

    assert Reading.objects.get(value=44080).confirmed


def test_reading_kept_as_questionable_counts_nowhere_though_it_could_be(browser, rig):
    answer = read(browser, rig, "44080", doubt="keep")

    assert "questionable, so it doesn't count" in words(answer)
    assert Reading.objects.get(value=44080).doubtful
    shown = browser.get(reverse("rig", args=[rig.pk]))
    assert "40,380" in words(shown)
    assert recheck(rig.household, as_of=TODAY) == []


def test_readings_kept_as_questionable_do_not_outvote_good_ones(browser, rig):
    Reading.objects.exclude(value=40380).delete()
    for day, value in (("02", "900000"), ("03", "900050"), ("04", "900100")):
        read(browser, rig, value, on=f"2026-05-{day}", doubt="keep")

    wrong = Reading.objects.filter(doubtful=True)
    assert sorted(wrong.values_list("value", flat=True)) == [900000, 900050, 900100]


def test_questionable_reading_counts_once_it_is_confirmed(browser, rig):
    read(browser, rig, "44080", doubt="keep")
    reading = Reading.objects.get(value=44080)

    browser.post(reverse("settle_reading", args=[reading.pk]), {"as": "right"})

    reading.refresh_from_db()
    assert (reading.questionable, reading.doubtful) == (False, False)


# --- work done ------------------------------------------------------------------------


def work(browser, rig, value, **more):
    item = rig.plan_items.get(key="engine_oil")
    data = {
        "form_token": TOKEN, "on": "2026-05-04", "done_by": "member", "doer": "Ada",
        "wheels-unit": "ft·lbf", "lines-TOTAL_FORMS": "6", "lines-INITIAL_FORMS": "0",
        "used-TOTAL_FORMS": "4", "used-INITIAL_FORMS": "0", "lines-0-item": item.pk,
        "lines-0-outcome": "done", "notes": "By the creek", "meter_odometer": value,
    }  # fmt: skip
    for number in range(1, 6):
        data[f"lines-{number}-outcome"] = "done"
    page = reverse("record_work", args=[rig.pk])
    return browser.post(page, data | more, follow=True)


def test_record_offers_what_was_meant_and_keeps_what_was_typed(browser, rig):
    answer = work(browser, rig, "404000")

    assert "Typo: I meant 40,400 mi" in words(answer)
    assert "By the creek" in answer.content.decode()
    assert not ServiceRecord.objects.exists()

    work(browser, rig, "404000", doubt_odometer="meant:40400.0")

    assert ServiceRecord.objects.get().values == {"odometer": "40400.0"}
    assert Reading.objects.filter(value=40400, doubtful=False).exists()


def test_answer_stays_chosen_while_something_else_is_wrong(browser, rig):
    more = {"doubt_odometer": "keep", "take_0": "x", "until": ""}
    answer = work(browser, rig, "404000", **more, **{"warranty_until": "2026-01-01"})

    assert "This warranty would end before it begins. Enter a later day." in words(
        answer
    )
    kept = (
        r'name="doubt_odometer"[^>]*value="keep"[^>]*checked|checked[^>]*value="keep"'
    )
    assert re.search(kept, answer.content.decode())


def test_record_kept_questionable_completes_at_the_estimate_and_says_so(browser, rig):
    answer = work(browser, rig, "43000", doubt_odometer="keep")

    said = "43,000 mi: questionable, so it doesn't count. 40,380 mi is used"
    assert said in words(answer)
    opens = standing(rig, "engine_oil").result["window"]
    assert "43000" not in str(opens)
    assert recheck(rig.household, as_of=TODAY) == []


def test_record_that_is_amended_goes_through_the_gate(browser, rig, keeper):
    work(browser, rig, "40400")
    record = ServiceRecord.objects.get()
    data = filled(browser, record) | {"meter_odometer": "404000", "why": "typo"}
    page = reverse("amend_record", args=[record.pk])

    asked = browser.post(page, data)
    assert "Typo: I meant 40,400 mi" in words(asked)
    record.refresh_from_db()
    assert record.values == {"odometer": "40400.0"}

    browser.post(page, data | {"doubt_odometer": "keep"})

    assert Reading.objects.get(value=404000).questionable
    # Amended again in something else, it is questionable still.
    data = filled(browser, record) | {"notes": "dry", "why": "words"}
    browser.post(page, data)
    assert Reading.objects.get(value=404000, withdrawn=False).questionable


# --- a link of a mail -----------------------------------------------------------------


def test_mail_link_offers_what_was_meant(rig, keeper, settings):
    settings.PUBLIC_URL = "https://rigs.example.org"
    renew_household(rig.household, as_of=TODAY)
    item = rig.plan_items.get(key="engine_oil")
    link = AnswerLink("done", 1, keeper.pk, item.pk, TODAY + GOOD_FOR)
    url = link.url.removeprefix(settings.PUBLIC_URL)
    sent = {"on": "2026-05-04", "outcome": "done", "value": "404000"}

    asked = Client().post(url, sent)
    assert "Typo: I meant 40,400 mi" in words(asked)

    done = Client().post(url, sent | {"doubt": "meant:40400.0"}, follow=True)

    assert "40,400 mi (20 mi since May 1, 2026" in words(done)
    assert ServiceRecord.objects.get().values == {"odometer": "40400.0"}


# --- a replacement --------------------------------------------------------------------


def replaced(browser, rig, old_final, **more):
    data = {"meter": rig.meters.get().pk, "on": "2026-05-04", "new_start": "0"}
    page = reverse("replace_meter", args=[rig.pk])
    return browser.post(page, data | {"old_final": old_final} | more, follow=True)


def test_replacement_offers_what_was_meant(browser, rig):
    asked = replaced(browser, rig, "404000")

    assert "Typo: I meant 40,400 mi" in words(asked)
    assert "Keep it as questionable" not in words(asked)

    replaced(browser, rig, "404000", doubt_old_final="meant:40400.0")

    assert MeterReplacement.objects.get().old_final == 40400


def test_replacement_sent_twice_is_one(browser, rig):
    for _n in range(2):
        replaced(browser, rig, "40400")

    assert MeterReplacement.objects.count() == 1


def test_second_replacement_of_a_day_is_refused_in_words(browser, rig):
    replaced(browser, rig, "40400")
    again = replaced(browser, rig, "40410")

    assert "May 4, 2026 already has a replacement" in words(again)
    assert MeterReplacement.objects.count() == 1


# --- a trip ---------------------------------------------------------------------------


@pytest.fixture
def trip(rig, keeper):
    days = {"start": date(2026, 5, 1), "end": date(2026, 5, 3)}
    return plan_trip(rig, by=keeper, today=TODAY, distance=Decimal(200), **days)


def tell(browser, trip, end_at, **more):
    data = {"end": "2026-05-03", "hitched_at": "40380", "unhitched_at": end_at}
    page = reverse("tell_trip", args=[trip.pk])
    return browser.post(page, data | more, follow=True)


def test_trip_offers_what_was_meant(browser, trip):
    asked = tell(browser, trip, "405800")
    assert "Typo: I meant 40,580 mi" in words(asked)

    tell(browser, trip, "405800", doubt_unhitched_at="meant:40580.0")

    trip.refresh_from_db()
    assert (trip.unhitched_at, trip.distance) == (40580, 200)


def test_trip_kept_questionable_keeps_the_distance_told(browser, trip, rig):
    tell(browser, trip, "405800", doubt_unhitched_at="keep", distance="190")

    trip.refresh_from_db()
    assert trip.distance == 190
    assert Reading.objects.get(value=405800).doubtful
    assert not Reading.objects.filter(value=40380, doubtful=True).exists()
    assert recheck(rig.household, as_of=TODAY) == []


# --- an import ------------------------------------------------------------------------

FILE = """Date,Work done,Mileage (mi)
2026-04-10,Wash,40150
2026-04-20,Wax,402500
"""


def test_import_names_what_was_meant_and_keeps_it_questionable(rig, keeper):
    columns = {0: "on", 1: "what", 2: "odometer"}
    made = looked_at(rig, keeper, FILE, columns=columns)
    doubts = [row.doubts for row in judge(made, today=TODAY).rows]
    assert doubts[0] == ()
    assert "Did you mean 40,250 mi?" in doubts[1][0]

    brought(rig, keeper, FILE.replace("Wash", "Rinse"), columns=columns)

    assert Reading.objects.get(value=402500).questionable
    assert not Reading.objects.get(value=40150).doubtful


# --- a part that comes on or off ------------------------------------------------------


def test_part_is_fitted_at_what_was_meant(browser, rig):
    page = reverse("add_part", args=[rig.pk, "alarm"])
    sent = {"type": "smoke", "on": "2026-05-04", "meter_odometer": "404000"}

    asked = browser.post(page, sent)
    assert "Typo: I meant 40,400 mi" in words(asked)
    assert not rig.fittings.exists()

    browser.post(page, sent | {"doubt_odometer": "meant:40400.0"})

    assert rig.fittings.get().start_values == {"odometer": "40400.0"}
