"""What a history says of walk-arounds, faults and fuel."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from maintenance.findings.models import Finding
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import FuelStop
from maintenance.walkrounds.models import WalkRound, ZoneLook
from tests.builders import TODAY, make_member, make_reading, make_rig
from tests.packets.builders import make_record
from tests.packets.reading import history_of

pytestmark = pytest.mark.django_db


def make_round(rig, on=TODAY, **fields) -> WalkRound:
    ann = make_member(rig.household, name="Ann")
    fields.setdefault("finished_on", on)
    return WalkRound.objects.create(rig=rig, started_on=on, started_by=ann, **fields)


def look_at(walkround: WalkRound, zone: str, **fields) -> ZoneLook:
    return ZoneLook.objects.create(
        walkround=walkround,
        zone=zone,
        token=uuid4(),
        on=walkround.started_on,
        **fields,
    )


def test_walk_round_says_who_looked_at_how_much_and_what_was_found():
    rig = make_rig()
    walkround = make_round(rig)
    look_at(walkround, "roof", same=True)
    crack = look_at(walkround, "front", same=False, words="a crack")
    found = Finding.objects.create(rig=rig, what="Crack", found_on=TODAY, zone="front")
    crack.opened.add(found)

    (row,) = history_of(rig).looks

    assert (row.on, row.what) == ("May 4, 2026", "by Ann")
    assert row.note == "2 zones, 1 changed, 1 fault found"


def test_walk_round_that_is_not_finished_is_left_out():
    rig = make_rig()
    make_round(rig, finished_on=None)

    assert history_of(rig).looks == ()


def test_walk_round_whose_record_is_void_says_so():
    rig = make_rig()
    record = make_record(rig)
    ServiceRecord.objects.update(voided_at=datetime(2026, 5, 1, tzinfo=UTC))
    make_round(rig, record=record)

    assert history_of(rig).looks[0].note == "0 zones, its record was voided"


def test_of_many_walk_rounds_the_newest_are_listed_and_the_rest_counted():
    rig = make_rig()
    for week in range(30):
        make_round(rig, on=TODAY - timedelta(weeks=week))

    history = history_of(rig)

    assert len(history.looks) == 24
    assert history.looks[0].on == "May 4, 2026"
    assert history.looks_left_out == "And 6 more, the first on Oct 13, 2025."


def test_fault_found_on_a_walk_round_says_what_became_of_it():
    rig = make_rig()
    fixed = make_record(rig, on=date(2026, 4, 9)).lines.get()
    found = Finding.objects.create(
        rig=rig,
        what="Loose clip",
        zone="roof",
        state="fixed",
        found_on=date(2026, 4, 1),
    )
    fixed.finding_links.create(finding=found, how="fixed")
    Finding.objects.create(
        rig=rig,
        what="Scratch",
        state="accepted",
        why_accepted="paint is whole",
        found_on=date(2026, 4, 2),
    )
    Finding.objects.create(rig=rig, what="Lamp", found_on=date(2026, 4, 3))

    assert [(row.what, row.note) for row in history_of(rig).faults] == [
        ("Lamp", "not fixed yet"),
        ("Scratch", "left as it is: paint is whole"),
        ("Loose clip, roof", "fixed Apr 9, 2026"),
    ]


def test_finding_that_was_withdrawn_is_left_out():
    rig = make_rig()
    Finding.objects.create(rig=rig, what="Lamp", found_on=TODAY, withdrawn=True)

    assert history_of(rig).faults == ()


def refuel(rig, on: date, value: int, volume: int) -> FuelStop:
    reading = make_reading(rig, on, value)
    return FuelStop.objects.create(
        reading=reading, volume=volume, unit="gal", currency="USD"
    )


def test_fuel_stops_are_told_as_use_per_distance():
    """300 mi on the 30 gal that filled it up again: 10 mi/gal."""
    rig = make_rig()
    refuel(rig, date(2026, 4, 1), 42_000, 25)
    refuel(rig, date(2026, 4, 8), 42_300, 30)

    said = history_of(rig).fuel

    assert said.startswith("Fuel, by 2 stops: 300 mi ÷ 30 gal = 10 mi/gal. From full")


def test_one_fuel_stop_tells_no_use():
    rig = make_rig()
    refuel(rig, date(2026, 4, 1), 42_000, 25)

    assert history_of(rig).fuel == ""
