"""The form of work done in its short shape: jobs found by typing, folds that say their
value, and what will follow, all of it without script."""

import io
from datetime import date
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from maintenance.findings.models import Finding
from maintenance.plans.models import Completion
from maintenance.plans.services import take_on
from maintenance.service_records.models import Attachment, ServiceRecord, TorqueUnit
from maintenance.vehicles.models import Event, Reading
from tests import builders
from tests.builders import TODAY

pytestmark = pytest.mark.either_database

KEYS = ["engine_oil", "lug_recheck", "tire_rotate", "pump_strainer"]


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, equipment=["fresh_water"])
    builders.make_reading(rig, date(2026, 5, 1), 42300)
    take_on(rig, by=keeper, today=TODAY, keys=KEYS)
    return rig


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def url(rig):
    return reverse("record_work", args=[rig.pk])


def item(rig, key):
    return rig.plan_items.get(key=key)


def data(**more):
    return {
        "form_token": str(uuid4()),
        "on": "2026-05-04",
        "done_by": "member",
        "doer": "Ada",
        "wheels-unit": TorqueUnit.FOOT_POUNDS,
        "lines-TOTAL_FORMS": "2",
        "lines-INITIAL_FORMS": "0",
        "lines-0-outcome": "done",
        "lines-1-outcome": "done",
        "used-TOTAL_FORMS": "0",
        "used-INITIAL_FORMS": "0",
        **more,
    }


def photo():
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "gray").save(out, "JPEG")
    return SimpleUploadedFile("invoice.jpg", out.getvalue())


def wheel_work(**more):
    return data(
        **{
            "lines-0-title": "Front pads",
            "meter_odometer": "42310",
            "wheels-off_LF": "on",
            "wheels-off_RF": "on",
            **more,
        }
    )


# --- jobs found by typing ------------------------------------


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("Had the tires rotated", "tire_rotate"),
        ("rotat", "tire_rotate"),
        ("tyre rotation", "tire_rotate"),
        ("polished chrome rotation", None),
        ("oil changed", "engine_oil"),
        ("nut torque", "lug_recheck"),
        ("Cleaned strainer", "pump_strainer"),
    ],
)
def test_job_is_found_by_the_owners_words(browser, url, rig, typed, key):
    page = browser.get(
        reverse("record_jobs", args=[rig.pk]), {"lines-0-title": typed}
    ).text

    found = [one for one in KEYS if f'value="{item(rig, one).pk}"' in page]
    assert found[:1] == ([key] if key else [])


@pytest.mark.parametrize("typed", ["", "a", "zzz qqq", "%", "the my of"])
def test_words_that_name_no_job_find_none(browser, rig, typed):
    page = browser.get(reverse("record_jobs", args=[rig.pk]), {"lines-0-title": typed})

    assert page.status_code == 200
    assert "lines-0-item" not in page.text


def test_without_script_a_button_finds_the_job_and_keeps_what_was_typed(
    browser, url, rig
):
    typed = {"lines-0-title": "Had the tires rotated", "notes": "by the barn"}

    page = browser.post(url, data(more="find", **typed)).text

    assert f'value="{item(rig, "tire_rotate").pk}"' in page
    assert "Had the tires rotated" in page
    assert "by the barn" in page
    assert not ServiceRecord.objects.exists()


def test_words_that_are_a_jobs_title_are_that_job(browser, url, rig):
    oil, strainer = item(rig, "engine_oil"), item(rig, "pump_strainer")

    browser.post(
        url,
        data(
            **{"lines-0-title": "Washed it", "lines-1-title": strainer.title.upper()},
        ),
    )

    lines = list(ServiceRecord.objects.get().lines.all())
    assert [line.item for line in lines] == [None, strainer]
    assert lines[1].title == strainer.title
    assert not Completion.objects.filter(item=oil).exists()


def test_no_list_of_all_jobs_stands_in_a_select(browser, url, rig):
    page = browser.get(url).text

    assert '<select name="lines-0-item"' not in page
    assert page.count('name="lines-0-item"') <= 4
    assert "Something else" in page


def test_chosen_job_brings_its_folds_and_keeps_what_was_typed(browser, url, rig):
    rotate = item(rig, "tire_rotate")
    typed = {"lines-0-item": rotate.pk, "notes": "by the barn", "total": "80"}

    answer = browser.post(url, data(more="job", **typed))

    forms, folds = answer.context["forms"], answer.context["folds"]
    assert folds["wheels"].open
    assert folds["who"].open
    assert forms.record["done_by"].value() == "shop"
    assert folds["notes"].now == "by the barn"
    assert "total $80.00" in folds["cost"].now
    assert not [place for place in rig.places if forms.wheels[f"off_{place}"].value()]
    assert not forms.wheels["reached_LF"].value()
    assert not answer.context["forms"].record.errors


# --- when ------------------------------------


@pytest.mark.parametrize(
    ("when", "on"),
    [
        ("today", date(2026, 5, 4)),
        ("yesterday", date(2026, 5, 3)),
        ("pick", date(2026, 4, 20)),
        ("nonsense", date(2026, 4, 20)),
    ],
)
def test_day_is_one_tap_or_a_date(browser, url, when, on):
    browser.post(url, data(when=when, on="2026-04-20", **{"lines-0-title": "Washed"}))

    assert ServiceRecord.objects.get().on == on


# --- folds say their value ------------------------------------


def test_closed_folds_say_what_is_in_them(browser, url):
    page = browser.post(
        url,
        data(
            more="lines",
            doer="County Road shop",
            done_by="shop",
            total="120.50",
            notes="Winter grade",
            until="2026-05-06",
            **{"lines-0-title": "Oil", "lines-1-title": "Washed"},
        ),
    )

    now = {name: fold.now for name, fold in page.context["folds"].items()}
    assert "County Road shop" in now["who"]
    assert "total $120.50" in now["cost"]
    assert now["notes"] == "Winter grade"
    assert now["jobs"] == "Washed"
    assert now["day"] == "between two days"
    assert now["wheels"] == "no wheel was off"
    for words in now.values():
        assert f'<span class="now">{words}</span>' in page.text


def test_fold_with_an_error_is_open(browser, url):
    page = browser.post(url, data(total="a lot", **{"lines-0-title": "Oil"}))

    folds = page.context["folds"]
    assert folds["cost"].open
    assert not folds["parts"].open


# --- the odometer, as it is typed ------------------------------------


@pytest.mark.parametrize(
    ("typed", "words"),
    [("425000", "t fit 42,"), ("42,310", ""), ("a lot", "t a number")],
)
def test_odometer_is_checked_as_it_is_typed(browser, url, typed, words):
    page = browser.post(url, data(check="odometer", meter_odometer=typed)).text

    assert 'id="said-meter_odometer"' in page
    assert words in page
    assert ("error" in page) is bool(words)
    assert not Reading.objects.filter(value=42310).exists()


def test_meter_that_the_rig_does_not_have_is_not_found(browser, url):
    assert browser.post(url, data(check="strange")).status_code == 404


# --- what will follow, and what follows ------------------------------------


def test_what_will_follow_is_shown_and_nothing_is_recorded(browser, url, rig):
    before = Reading.objects.count()

    page = browser.post(url, wheel_work(preview="show"))

    assert "Next: Re-check lug torque" in page.text
    assert "(LF, RF)" in page.text
    assert not ServiceRecord.objects.exists()
    assert not Event.objects.exists()
    assert Reading.objects.count() == before
    assert item(rig, "lug_recheck").standing.pending == ()


def test_what_will_follow_is_what_follows(browser, url):
    sent = wheel_work()
    foreseen = browser.post(url, {**sent, "preview": "show"}).context["forms"].follows

    saved = browser.post(url, sent, follow=True)

    assert saved.context["lines"] == foreseen
    assert foreseen
    assert ServiceRecord.objects.count() == 1


def test_fault_foreseen_leaves_no_finding(browser, url, rig):
    fault = {
        "lines-0-item": item(rig, "engine_oil").pk,
        "lines-0-outcome": "fault_found",
        "lines-0-note": "drain plug weeps",
    }

    browser.post(url, data(preview="show", **fault))

    assert not Finding.objects.exists()


def test_what_is_missing_is_said_by_the_button_and_not_in_a_hurry(browser, url):
    asked = browser.post(url, data(preview="show"))
    hurried = browser.post(url, data(preview="quiet"))

    assert "Enter what was done, like" in asked.text
    assert hurried.context["forms"].follows is None
    assert "Enter what was done, like" not in hurried.text


def test_file_sent_to_see_what_follows_is_held(browser, url):
    sent = wheel_work()
    browser.post(url, {**sent, "preview": "show", "uploads": photo()})

    browser.post(url, sent)

    assert Attachment.objects.get().record == ServiceRecord.objects.get()


# --- saved ------------------------------------


def test_saved_page_has_the_slip_the_tag_and_undo(browser, url, rig):
    figure = {"wheels-figure": "110", "wheels-origin": "invoice"}

    page = browser.post(url, wheel_work(**figure), follow=True)

    record = ServiceRecord.objects.get()
    assert page.redirect_chain[-1][0] == reverse("saved", args=[record.pk])
    for words in ("Front pads", "42,310", "LF, RF", "110 ft·lbf", "Undo, "):
        assert words in page.text.replace("\xa0", " ")
    assert f'href="{reverse("item", args=[item(rig, "lug_recheck").pk])}"' in page.text
    assert "See the how-to" in page.text


def test_saved_page_read_again_still_has_its_tag(browser, url):
    saved = browser.post(url, wheel_work(), follow=True).redirect_chain[-1][0]

    assert "See the how-to" in browser.get(saved).text


def test_saved_page_has_the_checks_of_its_own_record_alone(browser, url):
    browser.post(url, wheel_work())
    washed = data(**{"lines-0-title": "Washed"})

    page = browser.post(url, washed, follow=True)

    assert "Still due" in page.text or "Nothing new" in page.text
    assert "See the how-to" not in page.text


def test_check_hangs_on_the_record_of_the_latest_wheel_work(browser, url, clock):
    first = browser.post(url, wheel_work(), follow=True).redirect_chain[-1][0]
    other_wheel = {"wheels-off_LF": "", "wheels-off_RF": "on"}
    clock("2026-05-05 12:00", "America/Denver")
    later = browser.post(
        url, wheel_work(on="2026-05-05", **other_wheel), follow=True
    ).redirect_chain[-1][0]

    assert "See the how-to" in browser.get(first).text  # of the left wheel still
    assert "See the how-to" in browser.get(later).text

    clock("2026-05-06 12:00", "America/Denver")
    browser.post(url, wheel_work(on="2026-05-06"))

    assert "See the how-to" not in browser.get(first).text


def test_record_of_many_jobs_lists_them(browser, url):
    lines = {f"lines-{n}-title": f"Job {n}" for n in range(4)}
    lines |= {f"lines-{n}-outcome": "done" for n in range(4)}
    many = data(**lines, **{"lines-TOTAL_FORMS": "4"})

    page = browser.post(url, many, follow=True)

    assert "<h2>4 jobs</h2>" in page.text
    assert "<li>Job 3</li>" in page.text


def test_record_of_ten_minutes_ago_has_no_undo(browser, url, clock):
    saved = browser.post(url, wheel_work(), follow=True).redirect_chain[-1][0]

    clock("2026-05-04 12:11", "America/Denver")

    assert "Undo, " not in browser.get(saved).text


def test_undo_takes_it_back(browser, url):
    browser.post(url, wheel_work())
    record = ServiceRecord.objects.get()

    browser.post(reverse("undo_record", args=[record.pk]))

    assert not ServiceRecord.objects.exists()
    assert not Event.objects.filter(withdrawn=False).exists()
