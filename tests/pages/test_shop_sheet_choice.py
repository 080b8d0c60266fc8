"""Choosing what a shop is asked to do, what stands beside it, and the PDF of it."""

import io
from datetime import UTC, date, datetime

import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from maintenance.findings.services import open_finding, set_for_shop
from maintenance.packets.models import Packet
from maintenance.packets.pdf import write_pdf
from maintenance.plans.standings import renew_standings
from maintenance.service_records.models import ServiceRecord
from tests import builders
from tests.packets.builders import make_record
from tests.packets.reading import bookmarks, pdf_text

TODAY = date(2026, 5, 4)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 15:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Heron", plate="ALD 204")
    builders.make_reading(rig, date(2026, 5, 3), 42395)
    return rig


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


def overdue(rig, key="brake_fluid", title="Brake fluid"):
    item = builders.make_item(rig, key=key, title=title)
    item.completions.create(on=date(2023, 5, 1), outcome="done")
    renew_standings([rig], as_of=TODAY)
    return item


def did(item, on, **fields) -> ServiceRecord:
    record = make_record(item.rig, on=on, titles=[item.title], **fields)
    record.lines.update(item=item)
    return record


def url_of(rig) -> str:
    return reverse("shop_sheet", args=[rig.pk])


def page() -> str:
    return Packet.objects.get().page


def test_what_is_a_shop_s_is_ticked_and_the_rest_is_offered(client, rig, keeper):
    shop, own = overdue(rig), overdue(rig, key="pump_strainer", title="Strainer")
    crack = open_finding(rig, by=keeper, on=TODAY, what="Crack in the frame")
    set_for_shop(crack, by=keeper, wanted=True)
    paint = open_finding(rig, by=keeper, on=TODAY, what="Dull paint")

    form = client.get(url_of(rig)).context["form"]

    assert form.initial["items"] == [str(shop.pk)]
    assert form.initial["findings"] == [str(crack.pk)]
    assert {key for key, _words in form.fields["items"].choices} == {
        str(shop.pk),
        str(own.pk),
    }
    assert str(paint.pk) in dict(form.fields["findings"].choices)


def test_only_what_was_ticked_is_printed(client, rig, keeper):
    overdue(rig)
    own = overdue(rig, key="pump_strainer", title="Strainer")
    paint = open_finding(rig, by=keeper, on=TODAY, what="Dull paint")
    open_finding(rig, by=keeper, on=TODAY, what="Crack in the frame")

    client.post(url_of(rig), {"items": [own.pk], "findings": [paint.pk]})

    assert "Strainer" in page()
    assert "Dull paint" in page()
    assert "Brake fluid" not in page()
    assert "Crack in the frame" not in page()


def test_words_alone_are_enough_and_are_escaped(client, rig):
    client.post(url_of(rig), {"words": "It pulls <left>"})

    assert "It pulls &lt;left&gt;" in page()


def test_nothing_ticked_and_nothing_said_is_asked_about(client, rig):
    overdue(rig)

    answer = client.post(url_of(rig), {"items": []})

    assert "Check what the shop should do" in answer.content.decode()
    assert not Packet.objects.exists()


def test_item_of_another_rig_is_refused_and_the_words_are_kept(client, rig, keeper):
    overdue(rig)
    other = overdue(builders.make_rig(keeper.household, name="Wren"))

    answer = client.post(url_of(rig), {"items": [other.pk], "words": "It squeals"})

    assert not Packet.objects.exists()
    assert "It squeals" in answer.content.decode()


def test_last_three_times_are_told_with_reading_outcome_and_note(client, rig):
    item = overdue(rig)
    for year in (2020, 2021, 2022):
        did(item, date(year, 5, 1), doer="Ben")
    last = did(item, date(2023, 5, 1), values={"odometer": "30100"})
    last.lines.update(outcome="fault_found", note="dark")

    client.post(url_of(rig), {"items": [item.pk]})

    assert "Last: May 1, 2023, 30,100\xa0mi, by Ann: fault found, dark" in page()
    assert "Before: May 1, 2021, by Ben" in page()
    assert "May 1, 2020" not in page()


def test_void_work_is_not_told_and_merged_work_once(client, rig):
    item = overdue(rig)
    void = did(item, date(2023, 5, 1), doer="Void Vic")
    kept, twice = did(item, date(2022, 5, 1)), did(item, date(2022, 5, 2), doer="Ben")
    ServiceRecord.objects.filter(pk=void.pk).update(voided_at=datetime.now(UTC))
    ServiceRecord.objects.filter(pk=twice.pk).update(merged_into=kept)

    client.post(url_of(rig), {"items": [item.pk]})

    assert "Last: May 1, 2022, by Ann" in page()
    assert "Void Vic" not in page()
    assert "by Ben" not in page()


def test_work_that_only_the_merged_record_names_is_told(client, rig):
    item = overdue(rig)
    kept = make_record(rig, on=date(2022, 5, 1))
    twice = did(item, date(2022, 5, 2), doer="Ben")
    ServiceRecord.objects.filter(pk=twice.pk).update(merged_into=kept)

    client.post(url_of(rig), {"items": [item.pk]})

    assert "Last: May 2, 2022, by Ben" in page()


def test_pdf_has_the_rig_the_jobs_room_to_sign_and_bookmarks(client, rig, keeper):
    item = overdue(rig)
    crack = open_finding(rig, by=keeper, on=TODAY, what="Crack in the frame")
    client.post(url_of(rig), {"items": [item.pk], "findings": [crack.pk]})
    out = io.BytesIO()

    write_pdf(page(), out)

    text = pdf_text(out.getvalue())
    for words in ("plate ALD 204, VIN not given", "Brake fluid", "Signature"):
        assert words in text
    titles = [title for _depth, title in bookmarks(out.getvalue())]
    assert titles == [
        "Shop sheet: Heron",
        "Please look at",
        "Please do",
        "Done by the shop",
    ]
    assert len(pypdf.PdfReader(out).pages) == 1


def test_place_to_sign_of_a_long_sheet_is_not_cut_in_two(client, rig, keeper):
    found = [
        open_finding(rig, by=keeper, on=TODAY, what=f"Fault {n}") for n in range(30)
    ]
    client.post(url_of(rig), {"findings": [each.pk for each in found]})
    out = io.BytesIO()

    write_pdf(page(), out)

    pages = [each.extract_text() for each in pypdf.PdfReader(out).pages]
    assert len(pages) > 2
    assert "Done by the shop" in pages[-1]
    assert "Signature" in pages[-1]


def test_sheet_of_thirty_jobs_takes_as_many_queries_as_of_three(client, keeper):
    counts = []
    for number in (3, 30):
        rig = builders.make_rig(keeper.household, name=f"Rig {number}")
        items = [
            builders.make_item(rig, key=f"job_{n}", title=f"Job {n}").pk
            for n in range(number)
        ]
        renew_standings([rig], as_of=TODAY)
        with CaptureQueriesContext(connection) as made:
            client.post(url_of(rig), {"items": items})
        counts.append(len(made))

    assert counts[0] == counts[1]
