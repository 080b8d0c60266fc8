"""The first page: who the rig is, and how good its records are."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.builders import make_household, make_member, make_rig
from tests.packets.builders import (
    add_past,
    attach_bytes,
    make_busy_rig,
    make_record,
    photo_bytes,
)
from tests.packets.reading import history_of, records_in

pytestmark = pytest.mark.django_db


def test_cover_names_the_rig_its_papers_and_the_household():
    rig = make_rig(name="Marlow", year=2019, vin="1FABC12D3EF456789", plate="ALD 204")

    cover = history_of(rig).cover

    assert (cover.rig, cover.kind) == ("Marlow", "Motorhome, 2019")
    facts = dict(cover.facts)
    assert facts["VIN"] == "1FABC12D3EF456789"
    assert facts["Plate"] == "ALD 204"
    assert facts["In service since"] == "Jun 1, 2019"
    assert facts["Household"] == "Alder Lane"


def test_history_says_as_of_which_day_and_when_it_was_made():
    history = history_of(make_rig())

    assert history.as_of == "May 4, 2026"
    # 16:15 in UTC is 10:15 in the household's zone.
    assert history.made == "May 4, 2026, 10:15 AM by Ann"


def test_history_holds_no_mail_address():
    rig = make_rig()
    member = make_member(rig.household, "keeper", email="ann@example.org")
    make_record(rig, member)

    assert "example.org" not in repr(history_of(rig))


def test_glance_counts_records_proof_and_late_entries():
    rig = make_rig()
    make_record(rig, on=date(2025, 1, 2))
    make_record(rig, on=date(2025, 6, 1), entered_on=date(2025, 9, 1))
    attach_bytes(make_record(rig, on=date(2026, 4, 1)), photo_bytes(), "a.jpg")

    glance = dict(history_of(rig).cover.glance)

    span = "Jan 2, 2025 \N{EN DASH} Apr 1, 2026"
    assert glance["Work on record"] == f"3 records, {span}"
    assert glance["With photo or invoice"] == "1 of 3"
    assert glance["Entered within 30 days"] == "2 of 3"
    assert glance["Voided"] == "none"
    assert glance["Paid, as recorded"] == "no cost recorded"


def test_rig_without_records_has_a_history():
    history = history_of(make_rig())

    assert history.cover.glance == (("Work on record", "none yet"),)
    assert records_in(history) == []


@pytest.mark.parametrize(("country", "paper"), [("US", "letter"), ("DE", "a4")])
def test_paper_is_the_household_s(country, paper):
    rig = make_rig(make_household(country=country))

    assert history_of(rig).paper == paper


def queries_for(records: int) -> int:
    household = make_household(name=f"House of {records}")
    rig, _ann = make_busy_rig(records, household, photos=2)
    add_past(rig)
    with CaptureQueriesContext(connection) as found:
        history_of(rig)
    return len(found)


def test_thirty_records_take_as_many_queries_as_three():
    assert queries_for(30) == queries_for(3)
