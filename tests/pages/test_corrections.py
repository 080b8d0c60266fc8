"""Amending and undoing a record on its pages, and the page that verifies the chain."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.findings.models import Finding
from maintenance.plans.measures import Measured
from maintenance.service_records.chain.verifying import head_of
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from tests import builders
from tests.service_records.chain_parts import (
    full_record,
    link_all,
    log,
    make_chain,
    overwrite,
)


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


@pytest.fixture(autouse=True)
def _day(clock):
    clock("2026-05-04 18:00")


def filled(client, record):
    """What the form of the page holds, ready to be posted."""
    page = client.get(reverse("amend_record", args=[record.pk]))
    parts = [page.context["form"], page.context["figures"], *page.context["lines"]]
    forms = [*parts, page.context["lines"].management_form]
    data = {}
    for form in forms:
        for field in form:
            value = field.value()
            if field.name == "wheels_off" and not page.context["form"].asked_wheels:
                continue
            if isinstance(value, list):
                data[field.html_name] = value
                continue
            data[field.html_name] = "" if value is None else str(value)
            if hasattr(value, "pk"):
                data[field.html_name] = str(value.pk)
    data["remove"] = []
    del data["uploads"]
    return data


def test_amended_record_shows_what_it_said_before(keeper, rig, client_as):
    record = full_record(rig, keeper)
    client = client_as(keeper)
    data = filled(client, record) | {"doer": "Salt Road Garage", "why": "wrong shop"}

    page = client.post(
        reverse("amend_record", args=[record.pk]), data, follow=True
    ).content.decode()

    assert "was “Bay Street Garage”, is “Salt Road Garage”" in page
    assert "Reason: wrong shop" in page


def test_form_as_it_is_changes_nothing_and_says_so(keeper, rig, client_as):
    record = full_record(rig, keeper)
    client = client_as(keeper)

    page = client.post(
        reverse("amend_record", args=[record.pk]),
        filled(client, record) | {"why": "none"},
    )

    assert (
        "Nothing has changed yet. Change something, or cancel." in page.content.decode()
    )


def test_figures_are_amended(keeper, rig, client_as):
    measures = [Measured("tread", Decimal(6), "32nds in", "LF")]
    record = log(rig, keeper, lines=[Line("Tires", measures=measures)])
    row = record.lines.get()
    client = client_as(keeper)
    changed = {f"figures-line_{row.pk}_0": "5", "why": "misread"}

    client.post(
        reverse("amend_record", args=[record.pk]), filled(client, record) | changed
    )

    row.refresh_from_db()
    assert row.measures[0]["value"] == "5"


def test_amendment_without_a_reason_is_asked_for_one(keeper, rig, client_as):
    record = log(rig, keeper)
    client = client_as(keeper)

    page = client.post(
        reverse("amend_record", args=[record.pk]), filled(client, record)
    )

    assert page.context["form"].errors["why"]


def test_line_that_finds_no_fault_any_more_withdraws_its_finding(
    keeper, rig, client_as
):
    record = log(rig, keeper, lines=[Line("Lamps", None, "fault_found", "dark")])
    client = client_as(keeper)
    data = filled(client, record) | {"lines-0-outcome": "done", "why": "other rig"}

    client.post(reverse("amend_record", args=[record.pk]), data)

    assert Finding.objects.get().withdrawn


def test_fresh_record_is_undone(keeper, rig, client_as):
    record = log(rig, keeper, lines=[Line("Lamps", None, "fault_found", "dark")])
    client = client_as(keeper)
    assert (
        ">Undo</button>"
        in client.get(reverse("record", args=[record.pk])).content.decode()
    )

    client.post(reverse("undo_record", args=[record.pk]))

    assert not ServiceRecord.objects.exists()
    assert not Finding.objects.filter(withdrawn=False).exists()


def test_record_is_not_undone_after_ten_minutes(keeper, rig, client_as, clock):
    record = log(rig, keeper)
    clock("2026-05-04 18:10")
    client = client_as(keeper)

    page = client.post(reverse("undo_record", args=[record.pk]), follow=True)

    assert "in its first ten minutes" in page.content.decode()
    assert ServiceRecord.objects.exists()


def test_viewer_may_not_undo(keeper, rig, client_as):
    record = log(rig, keeper)
    viewer = builders.make_member(keeper.household, "viewer")

    answer = client_as(viewer).post(reverse("undo_record", args=[record.pk]))

    assert answer.status_code == 403


def test_page_says_that_all_fits_and_what_the_print_vouches_for(keeper, client_as):
    rig, _records = make_chain(keeper)
    head = head_of(rig).spaced

    page = client_as(keeper).get(reverse("rig_chain", args=[rig.pk]), {"head": head})

    words = page.content.decode()
    assert "No tampering: 3 records and 1 file" in words
    assert "Your printed code is link 3 of 3" in words


def test_page_names_what_was_changed(keeper, client_as):
    rig, (record, *_others) = make_chain(keeper)
    overwrite(record, ServiceRecord._meta.get_field("doer"), "Nobody")

    page = client_as(keeper).get(reverse("rig_chain", args=[rig.pk]))

    assert "is “Nobody”" in page.content.decode()


def test_page_of_a_rig_without_a_chain_says_when_there_will_be_one(
    keeper, rig, client_as
):
    page = client_as(keeper).get(reverse("rig_chain", args=[rig.pk]))

    assert "No record is sealed yet" in page.content.decode()
    link_all()


def test_reading_of_a_record_is_corrected_through_the_record(keeper, rig, client_as):
    record = log(rig, keeper, values={"odometer": Decimal(42310)})
    reading = record.readings.get()
    client = client_as(keeper)

    answer = client.post(reverse("settle_reading", args=[reading.pk]), {"as": "wrong"})

    assert answer.url == reverse("amend_record", args=[record.pk])
    reading.refresh_from_db()
    assert not reading.withdrawn


# --- wheels that were off ------------------------------------------------------------


WHICH = "which wheels were off?"


@pytest.fixture
def recheck(rig):
    return builders.make_item(
        rig,
        key="lug_recheck",
        title="Re-check lug torque",
        safety=True,
        taken_on=date(2026, 4, 1),
        triggers=[
            {
                "after": {
                    "event": "wheel_off",
                    "distance": [50, 100],
                    "unit": "mi",
                    "meter": "odometer",
                }
            }
        ],
    )


@pytest.fixture
def corrected(keeper, client_as):
    client = client_as(keeper)

    def post(record, **changes):
        data = filled(client, record) | {"why": "told wrong"}
        url = reverse("amend_record", args=[record.pk])
        return client.post(url, data | changes, follow=True)

    return post


def wheels_off(rig):
    return [one.places for one in rig.events.filter(withdrawn=False)]


def test_words_corrected_to_work_that_takes_wheels_off_then_asked_which(
    keeper, rig, recheck, corrected
):
    record = log(rig, keeper, values={"odometer": Decimal(42310)})
    words = {"lines-0-title": "Rotated the tires"}

    asked = corrected(record, **words)
    kept = corrected(record, **words, wheels_off=["LF", "RF"])

    assert WHICH in asked.text
    assert wheels_off(rig) == [["LF", "RF"]]
    assert "Next: Re-check lug torque between 42,360 mi and 42,410 mi" in kept.text


def test_wheels_of_a_correction_with_their_torque(keeper, rig, corrected):
    record = log(rig, keeper)
    words = {"lines-0-title": "New tires", "wheels_off": ["LF"], "torque": "110"}

    asked = corrected(record, **words)
    corrected(record, **words, torque_from="invoice")

    assert "where the torque figure comes from" in asked.text
    assert ServiceRecord.objects.get().torque.figure == 110


def test_words_that_no_longer_tell_of_wheels_then_asked_and_withdrawn(
    keeper, rig, recheck, corrected
):
    record = log(rig, keeper, "Rotated the tires", wheels=Wheels(off=frozenset({"LF"})))
    words = {"lines-0-title": "Oil changed"}

    asked = corrected(record, **words)
    assert "no longer takes wheels off" in asked.text
    assert wheels_off(rig) == [["LF"]]

    corrected(record, **words, wheels_off=["none"])
    assert wheels_off(rig) == []


def test_words_that_no_longer_tell_of_wheels_and_they_were_off_all_the_same(
    keeper, rig, corrected
):
    record = log(rig, keeper, "Rotated the tires", wheels=Wheels(off=frozenset({"LF"})))

    corrected(record, **{"lines-0-title": "Oil changed", "still_off": "on"})

    assert ServiceRecord.objects.get().lines.get().title == "Oil changed"
    assert wheels_off(rig) == [["LF"]]


def test_wheel_that_was_not_off_is_unticked(keeper, rig, corrected):
    off = Wheels(off=frozenset({"LF", "RF"}))
    record = log(rig, keeper, "Rotated the tires", wheels=off)

    corrected(record, wheels_off=["RF"])

    assert wheels_off(rig) == [["RF"]]


def test_correction_of_the_cost_asks_nothing_of_wheels(keeper, rig, corrected):
    record = log(rig, keeper, "Rotated the tires")

    corrected(record, total="80")

    assert ServiceRecord.objects.get().total == 80


def test_correction_overtaken_by_another_then_both_are_shown(keeper, rig, client_as):
    record = log(rig, keeper)
    other = client_as(builders.make_member(keeper.household))
    client, url = client_as(keeper), reverse("amend_record", args=[record.pk])
    slow = filled(client, record) | {"doer": "Me", "why": "mine"}
    slow["form_seen"] = client.get(url).context["form_seen"]
    theirs = filled(other, record) | {
        "doer": "Salt Road Garage",
        "lines-0-note": "both filters",
        "why": "theirs",
    }
    other.post(url, theirs)

    asked = client.post(url, slow)

    assert "It now says: “Salt Road Garage”. You typed: “Me”." in asked.text
    assert "It now says: “both filters”." in asked.text
    slow["form_seen"] = asked.context["form_seen"]
    assert client.post(url, slow).status_code == 302
    assert ServiceRecord.objects.get().doer == "Me"
