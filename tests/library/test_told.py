"""Work told in words is known by the words that the library has for it."""

import pytest

from maintenance.core.triggers import events
from maintenance.library.reading import load_library
from maintenance.library.told import told_in

ALL = load_library().procedures


def told(words):
    return {one.key for one in told_in(words, ALL.values())}


# Common practice: how owners and invoices in America call this work.
@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("Rotated the tires", "tire_rotate"),
        ("tires were ROTATED, balanced", "tire_rotate"),
        ("4 new tires", "tire_replace"),
        ("Installed a new set of tires", "tire_replace"),
        ("front brake pads", "brake_inspect_motor"),
        ("Wheel bearings", "bearing_repack"),
        ("repacked the bearings and seals", "bearing_repack"),
        ("Fixed a flat", "wheel_change"),
    ],
)
def test_told_as_people_tell_it_then_the_work_is_known(words, key):
    assert key in told(words)


@pytest.mark.parametrize(
    "words",
    [
        "New wipers. Checked the tires",
        "tire pressure",
        "Oil change; tires looked at",
        "brake lights",
        "",
    ],
)
def test_other_work_then_no_wheel_was_off(words):
    assert told(words) == set()


def test_each_job_that_takes_wheels_off_has_words_or_is_for_one_occasion():
    assert "wheel_off" in events.EVENT_KINDS
    silent = [
        key
        for key, one in ALL.items()
        if "wheel_off" in one.raises and not one.also_called
    ]
    assert silent == ["bearing_after_water"]


def test_motorhome_can_have_its_tires_rotated():
    assert ALL["tire_rotate"].suits("motorhome")
