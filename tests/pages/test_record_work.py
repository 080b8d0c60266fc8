"""The form of work done: what it takes, what it refuses, and that nothing is lost."""

import io
import re
from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from maintenance.findings.models import Finding
from maintenance.plans.models import Outcome
from maintenance.plans.services import take_on
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.vehicles.models import Event, Reading
from maintenance.vehicles.services import report_event
from tests import builders
from tests.builders import TODAY

TOKEN = "11111111-2222-3333-4444-555555555555"


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 5, 1), 42300)
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil", "lug_recheck"])
    return rig


@pytest.fixture
def post(client_as, keeper, rig):
    client, url = client_as(keeper), reverse("record_work", args=[rig.pk])

    def send(*lines, **more):
        data = {
            "form_token": TOKEN,
            "on": "2026-05-04",
            "done_by": "member",
            "doer": "Ada",
            "wheels-unit": "ft·lbf",
            "lines-TOTAL_FORMS": "6",
            "lines-INITIAL_FORMS": "0",
            "used-TOTAL_FORMS": "4",
            "used-INITIAL_FORMS": "0",
        }
        for number in range(6):
            line = lines[number] if number < len(lines) else {}
            for name, value in ({"outcome": "done"} | line).items():
                data[f"lines-{number}-{name}"] = value
        return client.post(url, data | more)

    return send


def item(rig, key):
    return rig.plan_items.get(key=key)


def photo():
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "gray").save(out, "JPEG")
    return SimpleUploadedFile("invoice.jpg", out.getvalue())


@pytest.mark.parametrize("token", ["", "12 mi", "½", "\0", "x" * 5000])
def test_form_with_a_bad_token_then_words_and_a_good_one(token, post, rig):
    answer = post({"title": "Oil"}, form_token=token)

    assert answer.status_code == 200
    assert "This page is out of date" in answer.text
    assert not ServiceRecord.objects.exists()
    good = re.search(r'name="form_token" value="([0-9a-f-]{36})"', answer.text)[1]
    assert post({"title": "Oil"}, form_token=good).status_code == 302


def test_opening_from_due_fills_the_job_in(client_as, keeper, rig):
    lug = item(rig, "lug_recheck")

    page = client_as(keeper).get(
        reverse("record_work", args=[rig.pk]), {"item": lug.pk}
    )

    text = page.content.decode()
    assert f'name="lines-0-item" value="{lug.pk}" checked>' in text
    assert f'<option value="{Outcome.HELD}" selected>' in text
    assert '<details class="fold" id="wheels" open>' in text


def test_plan_item_and_free_line_make_one_record(post, rig):
    oil = item(rig, "engine_oil")

    answer = post({"item": oil.pk}, {"title": "Washed"}, meter_odometer="42,350")

    record = ServiceRecord.objects.get()
    assert answer["Location"] == reverse("saved", args=[record.pk])
    assert [line.title for line in record.lines.all()] == [oil.title, "Washed"]
    assert Reading.objects.filter(value=42350).exists()


def test_wheels_off_raise_their_event(post):
    post({"title": "Tires"}, **{"wheels-off_LF": "on", "meter_odometer": "42310"})

    assert Event.objects.get().places == ["LF"]


def test_fault_opens_a_finding_and_asks_what(post, rig):
    oil = item(rig, "engine_oil")
    silent = post({"item": oil.pk, "outcome": "fault_found"})
    assert "wrong, like “left side leaks”" in silent.content.decode()

    post({"item": oil.pk, "outcome": "fault_found", "note": "drain plug weeps"})

    assert "drain plug weeps" in Finding.objects.get().what


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"on": "2026-05-05"}, "still to come"),
        ({"on": "soon"}, "Enter a date, like Nov 30, 2026."),
        ({"total": "a lot"}, "t a number"),
        ({"wheels-reached_LF": "110"}, "Enter the torque from"),
        ({"wheels-figure": "110", "wheels-reached_LF": "110"}, "figure comes from"),
        ({"meter_odometer": "42350 psi"}, "psi"),
        ({"meter_odometer": "425000"}, "t fit 4"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(post, more, words):
    answer = post({"title": "Greased the steps"}, notes="by the barn", **more)

    page = answer.content.decode()
    assert words in page
    assert "Greased the steps" in page
    assert "by the barn" in page
    assert not ServiceRecord.objects.exists()


def test_form_without_a_line_is_refused(post):
    assert "Enter what was done" in post().content.decode()


def test_file_of_a_form_with_an_error_is_kept_and_lands_in_the_record(post):
    answer = post({"title": "Tires"}, on="2026-05-05", uploads=photo())
    assert "Already attached: invoice.jpg" in answer.content.decode()

    post({"title": "Tires"})

    assert Attachment.objects.get().record == ServiceRecord.objects.get()


def test_file_that_lies_is_refused_at_its_field(post):
    lie = SimpleUploadedFile("invoice.pdf", b"MZ\x90\x00 not a pdf")

    answer = post({"title": "Tires"}, uploads=lie)

    assert "invoice.pdf" in answer.content.decode()
    assert not ServiceRecord.objects.exists()


def test_doubtful_reading_is_stored_once_it_is_confirmed(post):
    post({"title": "Tires"}, meter_odometer="425000", doubt_odometer="right")

    assert Reading.objects.get(value=425000).confirmed


def test_form_posted_twice_is_one_record(post):
    post({"title": "Tires"})
    post({"title": "Tires"})

    assert ServiceRecord.objects.count() == 1


@pytest.mark.parametrize("amount", ["1234.50", "1,234.50", "1234,50"])
def test_money_takes_comma_and_point(post, amount):
    post({"title": "Tires"}, total=amount)

    assert ServiceRecord.objects.get().total == 1234.5


def test_record_page_shows_what_was_recorded(post, client_as, keeper):
    post(
        {"title": "Tires"},
        meter_odometer="42310",
        total="412.60",
        **{
            "wheels-off_LF": "on",
            "wheels-figure": "110",
            "wheels-origin": "invoice",
            "wheels-reached_LF": "110",
        },
    )

    url = reverse("record", args=[ServiceRecord.objects.get().pk])
    page = client_as(keeper).get(url).content.decode()

    for words in ("42,310\xa0mi", "$412.60", "110\xa0ft·lbf", "Wheel off at LF"):
        assert words in page


@pytest.mark.parametrize("rows", ["9" * 5000, "²", "-1", "x"])
def test_more_rows_asked_for_by_nonsense_then_words(rows, post, rig):
    answer = post({"title": "Oil"}, **{"more": "lines", "lines-TOTAL_FORMS": rows})

    assert answer.status_code == 200


# --- wheels that were off, and what follows ----------------


def words_of(answer):
    return answer.content.decode()


@pytest.mark.parametrize("words", ["Rotated the tires", "New tires", "Brake pads"])
def test_told_in_words_then_it_asks_and_saves_nothing(post, words):
    answer = post({"title": words})

    assert "which wheels were off?" in words_of(answer)
    assert "No wheel was off" in words_of(answer)
    assert not ServiceRecord.objects.exists()


def test_told_in_the_note_or_the_notes_then_it_asks(post, rig):
    oil = item(rig, "engine_oil").pk

    assert "which wheels" in words_of(post({"item": oil, "note": "rotated tires too"}))
    assert "which wheels" in words_of(post({"item": oil}, notes="Also: new tires"))
    assert not ServiceRecord.objects.exists()


def test_answered_with_all_then_it_saves_and_the_recheck_follows(post):
    values = {"meter_odometer": "42310", "wheels-which": "all"}

    post({"title": "Rotated the tires"}, **values)

    event = Event.objects.get()
    assert (event.kind, event.places) == ("wheel_off", list(event.rig.places))
    record = ServiceRecord.objects.get()
    assert record.wheels_off == list(record.rig.places)


def test_wheels_ticked_at_once_then_it_does_not_ask(post):
    post({"title": "Rotated the tires"}, **{"wheels-off_LF": "on"})

    assert ServiceRecord.objects.get().wheels_off == ["LF"]


def test_no_wheel_was_off_then_it_saves_without_an_event(post):
    post({"title": "New tire cover"}, **{"wheels-which": "none"})

    assert ServiceRecord.objects.get().wheels_off == []
    assert not Event.objects.exists()


def test_job_that_takes_wheels_off_then_none_is_no_answer(post, keeper, rig):
    take_on(rig, by=keeper, today=TODAY, keys=["tire_rotate"])
    line = {"item": item(rig, "tire_rotate").pk}

    answer = post(line, **{"wheels-which": "none"})

    assert "which wheels were off?" in words_of(answer)
    assert "No wheel was off" not in words_of(answer)
    assert not ServiceRecord.objects.exists()


def test_wheel_work_of_a_truck_camper_then_there_is_nothing_to_ask(
    client_as, post, rig
):
    type(rig).objects.update(wheels="none")

    post({"title": "Rotated the tires"})

    assert ServiceRecord.objects.exists()


def wheel_off(rig, keeper):
    values = {"odometer": Decimal(42310)}
    report_event(
        rig,
        by=keeper,
        today=TODAY,
        kind="wheel_off",
        on=date(2026, 5, 3),
        values=values,
    )


def follow(answer):
    return words_of(answer.client.get(answer.url))


def test_after_saving_wheel_work_the_recheck_is_said_once(post):
    answer = post(
        {"title": "Rotated the tires"},
        **{"meter_odometer": "42310", "wheels-off_LF": "on"},
    )

    said = follow(answer)
    assert "between 42,360 mi and 42,410 mi (LF)" in said
    assert "between 42,360 mi" not in follow(answer)


def test_check_that_comes_too_early_says_so_and_from_where_it_counts(
    post, client_as, keeper, rig
):
    builders.make_reading(rig, date(2026, 5, 3), 42310)
    wheel_off(rig, keeper)
    lug = {"item": item(rig, "lug_recheck").pk, "outcome": "held"}

    answer = post(lug, **{"meter_odometer": "42330"})

    said = follow(answer)
    assert "too early to count" in said
    assert "between 42,360 mi and 42,410 mi" in said


def test_check_without_a_figure_says_that_it_does_not_count(
    post, client_as, keeper, rig
):
    wheel_off(rig, keeper)

    answer = post({"item": item(rig, "lug_recheck").pk, "outcome": "held"})

    said = follow(answer)
    assert "count without the mileage" in said


def test_empty_box_of_oiled_threads_asserts_nothing(post):
    wheels = {
        "wheels-off_LF": "on",
        "wheels-figure": "110",
        "wheels-origin": "invoice",
    }

    answer = post({"title": "Rotated the tires"}, **wheels)

    assert "dry threads" not in follow(answer)
    assert reverse("saved", args=[ServiceRecord.objects.get().pk]) == answer.url


def test_follow_up_by_distance_of_a_job_that_a_date_governs_then_in_its_own_unit(
    post, rig
):
    """The year has passed, and the wheel that was off asks for the job as well."""
    off = {"event": "wheel_off", "distance": [50, 100], "unit": "mi"}
    builders.make_item(
        rig,
        "bearing_look",
        title="Look at the bearings",
        baseline="stated",
        baseline_on=date(2024, 1, 1),
        triggers=[
            {"every": {"months": 12}},
            {"after": off | {"meter": "odometer"}},
        ],
    )

    answer = post(
        {"title": "Puncture"}, meter_odometer="42310", **{"wheels-off_LF": "on"}
    )

    page = answer.client.get(answer.url)
    said = "Next: Look at the bearings between 42,360 mi and 42,410 mi (LF)."
    assert said in words_of(page)
