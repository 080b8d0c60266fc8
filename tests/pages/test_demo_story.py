"""The demo's files: readable, complete, and consistent in themselves."""

import re
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from maintenance.core.triggers import EVENT_KINDS
from maintenance.library.reading import load_library
from maintenance.pages.demo.providing import fixtures
from maintenance.pages.demo.story import StoryError, read_story


@pytest.fixture(scope="module")
def story():
    return read_story(fixtures())


@pytest.fixture
def copy(tmp_path):
    """The files, to be spoiled."""
    return shutil.copytree(fixtures(), tmp_path / "story")


def works_of(story):
    return [work for rig in story.rigs for work in rig.works]


def test_story_names_only_procedures_of_the_library(story):
    known = load_library().procedures.keys()
    named = {key for keys in story.rounds.values() for key in keys}
    named |= {key for work in works_of(story) for key in work.done}
    named |= {key for rig in story.rigs for key in (*rig.leave, *rig.life)}

    assert named <= known


def test_rounds_of_a_season_hold_every_procedure_of_that_season(story):
    for season in ("spring", "autumn"):
        wanted = {
            key
            for key, one in load_library().procedures.items()
            if any(rule.get("season") == season for rule in one.triggers)
        }
        dropped = {key for rig in story.rigs for row in rig.dropped for key in row.keys}

        assert wanted - dropped <= set(story.rounds[season])


def test_events_are_of_kinds_that_the_reckoning_knows(story):
    kinds = {event.kind for rig in story.rigs for event in rig.events}

    assert kinds
    assert kinds <= EVENT_KINDS


def test_past_work_and_readings_lie_in_the_past_and_odometers_never_fall(story):
    for rig in story.rigs:
        days = [day + work.late for work in rig.works for day in work.days]
        assert max(days) <= 0
        for meter in rig.meters.values():
            on = [day for day, _value in meter.readings]
            assert on == sorted(on)
            assert not on or on[-1] <= 0


def test_money_of_each_record_adds_up(story):
    for work in works_of(story):
        if work.total is not None:
            parts = [one for one in (work.labor, work.parts, work.tax) if one]
            assert sum(map(Decimal, parts)) == work.total


def test_every_proof_is_there_small_and_used(story):
    named = {name for work in works_of(story) for name in work.proof}
    looks = [look for rig in story.rigs for row in rig.walkrounds for look in row.looks]
    named |= {look.photo for look in looks} | {snap.photo for snap in story.snaps}
    named |= {spot.photo for rig in story.rigs for spot in rig.spots}
    named |= {rig.photo for rig in story.rigs}
    named |= {book.file for rig in story.rigs for book in rig.manuals}
    files = [
        file
        for folder in ("photos", "invoices", "manuals")
        for file in story.folder.glob(f"{folder}/*")
    ]

    assert {Path(name).name for name in named if name} == {file.name for file in files}
    assert all(file.stat().st_size < 60_000 for file in files)


def test_an_unknown_key_is_refused_by_file_and_place(copy):
    with (copy / "pickup.toml").open("a") as file:
        file.write("\n[[findings]]\nday = -3\nwhat = 'A dent'\ncolor = 'red'\n")

    with pytest.raises(StoryError, match=r"pickup.toml: findings 1: .*'color'"):
        read_story(copy)


def test_a_missing_or_malformed_file_is_refused_by_name(copy):
    (copy / "pickup.toml").write_text("name = ")
    with pytest.raises(StoryError, match=r"^pickup.toml: Invalid value"):
        read_story(copy)

    (copy / "pickup.toml").unlink()
    with pytest.raises(StoryError, match=r"pickup.toml: .*No such file"):
        read_story(copy)


def test_story_holds_no_date_of_its_own(story):
    """Days are offsets; a date in the files would grow old."""
    for file in story.folder.glob("*.toml"):
        assert not re.search(r"\b(19|20)\d\d-\d\d", file.read_text())
