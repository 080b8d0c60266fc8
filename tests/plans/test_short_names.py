"""What a job is called where space is tight."""

import pytest

from maintenance.library.reading import load_library
from maintenance.plans.services.components import add_part
from tests import builders

OIL = load_library().procedures["engine_oil"]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


def test_job_of_the_library_then_its_short_name(rig):
    item = builders.make_item(rig, OIL.key, title=OIL.title)
    assert item.short == OIL.short == "Engine oil"


def test_job_of_an_owner_then_its_title(rig):
    item = builders.make_item(rig, "own_1", title="Wax the hood")
    assert item.short == "Wax the hood"


def test_job_that_is_called_otherwise_then_its_own_words(rig):
    item = builders.make_item(rig, OIL.key, title="Oil, filter and grease")
    assert item.short == "Oil, filter and grease"


def test_job_of_a_part_then_the_part_too(rig, keeper):
    alarm = add_part(
        rig,
        by=keeper,
        today=builders.TODAY,
        on=builders.TODAY,
        keys=["smoke_alarm_test"],
        kind="alarm",
        type="smoke",
        place="hall",
    )
    item = alarm.plan_items.get()
    assert item.short == f"Smoke alarm test: {alarm}"
