from datetime import UTC, datetime, timedelta

import pytest

from maintenance.households.access import NotAllowed
from maintenance.households.models import Role
from maintenance.work_sheets import kept as sheet
from maintenance.work_sheets.models import SheetEntry
from tests import builders

NOW = datetime(2026, 5, 4, 15, 0, tzinfo=UTC)
FIELDS = ("step_a", "step_b", "m_torque_LF", "note")


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def item(crew):
    return builders.make_item(builders.make_rig(crew.household))


def keep(item, by, field="step_a", value="on", now=NOW):
    sheet.keep(item, by=by, now=now, field=field, value=value)


def send(item, by, given, shown=(), now=NOW):
    sheet.keep_all(item, by=by, now=now, given=given, shown=shown, fields=FIELDS)


def kept(item, now=NOW):
    return sheet.kept_of(item, now)


def test_tick_is_kept_and_taken_off_again(item, crew):
    keep(item, crew)
    assert kept(item) == {"step_a": "on"}

    keep(item, crew, value="")
    assert kept(item) == {}


def test_changed_value_takes_the_place_of_the_old_one(item, crew):
    keep(item, crew, "m_torque_LF", "110")
    keep(item, crew, "m_torque_LF", "112")

    assert kept(item) == {"m_torque_LF": "112"}
    assert SheetEntry.objects.count() == 1


def test_two_people_tick_the_same_sheet(item, crew):
    other = builders.make_member(crew.household, Role.CREW)

    keep(item, crew, "step_a")
    keep(item, other, "step_b")

    assert kept(item).keys() == {"step_a", "step_b"}


def test_whole_sheet_leaves_what_another_person_ticked_meanwhile(item, crew):
    """Both saw an empty sheet; one ticks a, the other sends a sheet with b alone."""
    keep(item, crew, "step_a")

    send(item, crew, {"step_b": "on"}, shown=())

    assert kept(item).keys() == {"step_a", "step_b"}


def test_whole_sheet_takes_off_what_was_shown_and_is_empty_now(item, crew):
    keep(item, crew, "step_a")
    keep(item, crew, "note", "cold")

    send(item, crew, {"note": "cold"}, shown=("step_a", "note"))

    assert kept(item) == {"note": "cold"}


def test_same_sheet_sent_twice_is_the_same(item, crew):
    given = {"step_a": "on", "m_torque_LF": "110"}

    send(item, crew, given)
    send(item, crew, given)

    assert kept(item) == given


def test_unchanged_value_keeps_its_time(item, crew):
    keep(item, crew)

    send(item, crew, {"step_a": "on"}, shown=("step_a",), now=NOW + timedelta(days=1))

    assert SheetEntry.objects.get().kept_at == NOW


def test_sheet_is_gone_seven_days_after_the_last_touch(item, crew):
    keep(item, crew, "step_a", now=NOW - timedelta(days=6))
    keep(item, crew, "step_b")

    last_moment = NOW + timedelta(days=7, seconds=-1)
    assert kept(item, last_moment).keys() == {"step_a", "step_b"}
    assert kept(item, NOW + timedelta(days=7)) == {}


def test_old_sheet_is_cleared_by_the_next_tick(item, crew):
    keep(item, crew, "step_a", now=NOW - timedelta(days=7))
    keep(item, crew, "step_b")

    assert list(SheetEntry.objects.values_list("field", flat=True)) == ["step_b"]


def test_clear_is_for_one_item(item, crew):
    other = builders.make_item(item.rig, "brake_fluid")
    keep(item, crew)
    keep(other, crew)

    sheet.clear(item)

    assert (kept(item), kept(other)) == ({}, {"step_a": "on"})


def test_viewer_ticks_nothing(item, crew):
    viewer = builders.make_member(crew.household, Role.VIEWER)

    with pytest.raises(NotAllowed):
        keep(item, viewer)
    with pytest.raises(NotAllowed):
        send(item, viewer, {"step_a": "on"})
