"""Saying that something happened, and what the page answers."""

import re
from datetime import date, timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from maintenance.households.models import ActivityEntry
from maintenance.plans.models import Standing
from maintenance.plans.services import take_on
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Event, Reading
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=TODAY, keys=["engine_oil", "roof_hail"])
    return rig


@pytest.fixture
def tell(client_as, keeper, rig):
    def send(kind, on):
        page = reverse("report_event", args=[rig.pk])
        sent = {"kind": kind, "on": on.isoformat()}
        answer = client_as(keeper).post(page, sent, follow=True)
        return [str(message) for message in answer.context["messages"]]

    return send


def test_event_names_the_items_that_follow_from_it(tell):
    words = "Next: Look for damage after hail or a windstorm."
    assert tell("hail", TODAY) == [f"Saved. {words}"]


@pytest.mark.parametrize(
    ("kind", "on", "day"),
    [
        ("hail", date(2025, 5, 4), "May 4, 2025"),  # long over when it was taken on
        ("dust", TODAY, "May 4, 2026"),  # no item of this plan asks for it
    ],
)
def test_event_that_brings_nothing_on_says_so(tell, kind, on, day):
    words = f"It adds no job to the plan as it was on {day}."
    assert tell(kind, on) == [f"Saved. {words}"]


def test_event_saved_without_a_choice_then_nothing_happened_and_it_is_asked(
    client_as, keeper, rig
):
    browser, page = client_as(keeper), reverse("report_event", args=[rig.pk])
    form = browser.get(page).context["form"]
    assert form["kind"].value() is None
    assert next(iter(form.fields["kind"].choices)) == ("", "Choose …")

    answer = browser.post(page, {"kind": "", "on": TODAY.isoformat()})

    assert "Choose what happened." in answer.text
    assert not Event.objects.exists()


def test_collision_when_no_check_is_on_the_plan_then_it_is_taken_on(tell):
    """49 CFR 396.7: nothing is driven in a state likely to cause an accident."""
    words = "Next: Have the rig inspected after a collision."

    assert tell("collision", TODAY - timedelta(days=5)) == [f"Saved. {words}"]

    standing = Standing.objects.get(item__key="collision_check")
    assert (standing.unfit_by, standing.standing) == ("event", "overdue")


# --- a figure passes the gate of readings ---------------------------------------------


@pytest.fixture
def driven(keeper):
    """A rig read to 40,380 mi, with the re-check of lug nuts on its plan."""
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 4, 1), 40000)
    builders.make_reading(rig, date(2026, 5, 1), 40380)
    take_on(rig, by=keeper, today=date(2026, 4, 1), keys=["lug_recheck"])
    return rig


@pytest.fixture
def wheel_off(client_as, keeper, driven):
    def send(value, on="2026-05-04", **more):
        page = reverse("report_event", args=[driven.pk])
        sent = {"kind": "wheel_off", "on": on, "meter_odometer": value, **more}
        return client_as(more.pop("by", keeper)).post(page, sent, follow=True)

    return send


def words(answer):
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return unescape(re.sub(r"\s+", " ", text))


def window(rig):
    found = rig.plan_items.get(key="lug_recheck").standing.result["window"]
    return found and (found["opens"]["value"], found["closes"]["value"])


def test_event_at_a_mileage_that_cannot_be_is_asked_about(wheel_off):
    answer = wheel_off("404000")

    assert (
        "This doesn't fit 40,380 mi on May 1, 2026. That would be 363,620 mi since "
        in words(answer)
    )
    assert "Typo: I meant 40,400 mi" in words(answer)
    assert "It's for" not in words(answer)
    assert not Event.objects.exists()
    assert Reading.objects.count() == 2


def test_event_is_asked_about_beside_the_reading_of_its_own_day(wheel_off, driven):
    Reading.objects.all().delete()
    builders.make_reading(driven, TODAY, 40380)

    answer = wheel_off("404000")

    assert "doesn't fit 40,380 mi on May 4, 2026" in words(answer)
    assert not Event.objects.exists()


def test_event_whose_mileage_was_a_slip_counts_at_what_was_meant(wheel_off, driven):
    wheel_off("404000", doubt_odometer="meant:40400.0")

    assert Event.objects.get().values == {"odometer": "40400.0"}
    reading = Event.objects.get().readings.get()
    assert (reading.value, reading.on, reading.doubtful) == (40400, TODAY, False)
    assert window(driven) == (40450, 40500)  # 50 to 100 mi on


def test_event_kept_questionable_counts_at_the_estimate_and_says_so(wheel_off, driven):
    answer = wheel_off("404000", doubt_odometer="keep")

    said = "404,000 mi: questionable, so it doesn't count. 40,380 mi is used"
    assert said in words(answer)
    assert Reading.objects.get(value=404000).doubtful
    assert window(driven) == (40430, 40480)
    standing = driven.plan_items.get().standing
    assert standing.standing in {"due", "later", "soon"}
    correction = reverse("correct_event", args=[Event.objects.get().pk])
    rig_page = answer.client.get(reverse("rig", args=[driven.pk])).content.decode()
    assert f'href="{correction}"' in rig_page
    listed = words(answer.client.get(reverse("rig_events", args=[driven.pk])))
    assert "404,000 mi (questionable, so it doesn't count." in listed
    item = answer.client.get(reverse("item", args=[standing.item_id]))
    assert "Wheel off at 40,380 mi (estimated from the readings)" in words(item)


def test_event_kept_questionable_leaves_the_reading_of_its_day(wheel_off, driven):
    builders.make_reading(driven, TODAY, 40390)

    wheel_off("404000", doubt_odometer="keep")

    assert not Reading.objects.get(value=40390).doubtful
    assert window(driven) == (40440, 40490)


def test_questionable_figure_still_counts_nowhere_once_corrected_or_taken_back(
    wheel_off, client_as, keeper, driven
):
    wheel_off("404000", doubt_odometer="keep")
    page = reverse("settle_reading", args=[Reading.objects.get(value=404000).pk])

    client_as(keeper).post(page, {"as": "wrong"})

    assert window(driven) == (40430, 40480)


def test_event_that_is_right_after_all_counts_as_confirmed(wheel_off, driven):
    wheel_off("404000", doubt_odometer="right")

    assert Reading.objects.get(value=404000).confirmed
    assert window(driven) == (404050, 404100)


def test_each_meter_that_does_not_fit_is_asked_about_at_once(wheel_off, driven):
    driven.meters.create(kind="generator", unit="h")
    builders.make_reading(driven, date(2026, 5, 1), 300, kind="generator")

    answer = wheel_off("404000", meter_generator="3000")

    asked = words(answer)
    assert "doesn't fit 40,380 mi" in asked
    assert "doesn't fit 300 h" in asked
    assert not Event.objects.exists()


# --- putting it right -----------------------------------------------------------------


@pytest.fixture
def correct(client_as, keeper):
    def send(by=None, again=None, **changed):
        browser = client_as(by or keeper)
        page = reverse("correct_event", args=[Event.objects.latest("pk").pk])
        shown = browser.get(page)
        if shown.status_code != 200:
            return shown
        form = again or shown.context["form"]
        sent = {name: form[name].value() for name in form.fields}
        sent = {name: value for name, value in sent.items() if value is not None}
        return browser.post(page, sent | {"why": "typing slip"} | changed, follow=True)

    return send


def test_event_corrected_opens_the_window_at_the_right_miles(
    wheel_off, correct, driven
):
    wheel_off("404000", doubt_odometer="keep")

    answer = correct(meter_odometer="40400")

    assert "Corrected." in words(answer)
    assert window(driven) == (40450, 40500)
    kept = Reading.objects.get(value=404000)
    assert kept.withdrawn
    entry = ActivityEntry.objects.get(what="corrected event")
    assert "wheel off, 404,000 mi, on May 4, 2026 → wheel off, 40,400 mi" in entry.about
    assert "(typing slip)" in entry.about


def test_correction_passes_the_gate_too(wheel_off, correct, driven):
    wheel_off("40400")

    answer = correct(meter_odometer="404000")

    # Its own figure of before is no neighbor: it is what is corrected.
    assert "doesn't fit 40,380 mi on May 1, 2026" in words(answer)
    assert window(driven) == (40450, 40500)


def test_event_is_corrected_to_another_day(wheel_off, correct, driven):
    wheel_off("40390")

    correct(on="2026-05-03")

    reading = Event.objects.get().readings.get(withdrawn=False)
    assert (Event.objects.get().on, reading.on) == (date(2026, 5, 3),) * 2
    assert Reading.objects.filter(withdrawn=False).count() == 3


def test_figure_of_before_the_gate_is_corrected_and_kept_as_a_reading(
    correct, driven, keeper
):
    Event.objects.create(
        rig=driven, kind="wheel_off", on=TODAY, values={"odometer": "404000"}
    )

    correct(meter_odometer="40400")

    assert Reading.objects.get(value=40400).event == Event.objects.get()
    assert window(driven) == (40450, 40500)


def test_crew_corrects_an_event_and_a_viewer_does_not(wheel_off, correct, keeper):
    wheel_off("40390")
    crew = builders.make_member(keeper.household, "crew")
    viewer = builders.make_member(keeper.household, "viewer")

    assert correct(by=viewer, meter_odometer="40395").status_code == 403
    assert Event.objects.get().values == {"odometer": "40390.0"}

    correct(by=crew, meter_odometer="40395")
    assert Event.objects.get().values == {"odometer": "40395.0"}


def test_correction_sent_twice_changes_nothing_the_second_time(
    wheel_off, correct, client_as, keeper
):
    wheel_off("40390")
    page = reverse("correct_event", args=[Event.objects.get().pk])
    form = client_as(keeper).get(page).context["form"]

    for _time in range(2):
        assert "Corrected." in words(correct(again=form, meter_odometer="40395"))

    assert ActivityEntry.objects.filter(what="corrected event").count() == 1
    assert Reading.objects.filter(withdrawn=False).count() == 3


def test_stale_correction_is_answered_with_both_versions(
    wheel_off, correct, client_as, keeper
):
    wheel_off("40390")
    page = reverse("correct_event", args=[Event.objects.get().pk])
    stale = client_as(keeper).get(page).context["form"]
    correct(meter_odometer="40395")

    answer = words(correct(again=stale, meter_odometer="40399"))

    assert "Someone changed this meanwhile. It now says: wheel off, 40,395 mi" in answer
    assert "You typed: wheel off, 40,399 mi" in answer
    assert Event.objects.get().values == {"odometer": "40395.0"}


def test_event_of_a_record_is_corrected_through_that_record(
    client_as, keeper, driven, correct
):
    record = log_with_wheels_off(keeper, driven, "40400")

    listed = client_as(keeper).get(reverse("rig_events", args=[driven.pk]))

    assert "See its record of May 4, 2026" in words(listed)
    assert correct()["Location"] == reverse("record", args=[record.pk])


def log_with_wheels_off(keeper, rig, value):
    take_on(rig, by=keeper, today=date(2026, 4, 1), keys=["engine_oil"])
    job = rig.plan_items.get(key="engine_oil")
    return builders.log_work(
        rig,
        by=keeper,
        today=TODAY,
        on=TODAY,
        form_token="5a0c1f5e-6f53-4a52-8a64-0b1de0a8a9a1",
        lines=[Line(job.title, job)],
        wheels=Wheels(off=frozenset({"LF"})),
        values={"odometer": Decimal(value)},
    )


def test_record_kept_questionable_counts_nowhere_for_work_nor_event(keeper, driven):
    log_with_wheels_off(keeper, driven, "404000")

    assert window(driven) == (40430, 40480)
    oil = driven.plan_items.get(key="engine_oil").standing
    points = [one["closes"] for one in oil.result["pending"]]
    values = [one["value"] for one in points if isinstance(one, dict)]
    assert values
    assert max(values) < 60000
