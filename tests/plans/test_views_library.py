"""The library as pages: its version, what changed, each procedure with its sources."""

import pytest
from django.urls import reverse

from maintenance.library.reading import load_library
from maintenance.plans.services import write_procedure
from maintenance.ui.words import day_words
from tests import builders


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def own(keeper):
    rig = builders.make_rig(keeper.household)
    return write_procedure(
        rig,
        by=keeper,
        today=builders.TODAY,
        title="Air the bedding",
        system="body-doors",
        who="owner",
        minutes=5,
        why="It molds.",
        steps=["Hang it out."],
        triggers=[{"season": "spring"}],
    )


def test_library_shows_version_changes_and_every_procedure(keeper, client_as):
    library = load_library()

    text = client_as(keeper).get(reverse("library")).content.decode()

    assert library.changes[0].text in text
    assert f'<span class="now">as of {day_words(library.changes[0].on)}<' in text
    assert text.count('class="row-title" href="/library/') == len(library.procedures)


def test_procedure_shows_cautions_before_steps_and_its_sources(keeper, client_as):
    page = client_as(keeper).get(reverse("library", args=["lug_recheck"]))

    text = page.content.decode()
    found = load_library().procedures["lug_recheck"]
    assert text.index("Before you begin") < text.index("Steps")
    assert "Where the figures come from" in text
    assert len(found.sources) > 0


@pytest.mark.parametrize("key", ["no_such_thing", "own_999", "own_"])
def test_unknown_procedure_is_not_found(keeper, client_as, key):
    page = reverse("library", args=[key])

    assert client_as(keeper).get(page).status_code == 404


def test_own_procedure_is_shown_with_its_change(own, keeper, client_as):
    text = client_as(keeper).get(reverse("library", args=[own.key])).content.decode()

    assert "Hang it out." in text
    assert "Change job" in text


def test_own_procedure_of_another_household_is_not_found(own, client_as):
    stranger = client_as(builders.make_member())

    assert stranger.get(reverse("library", args=[own.key])).status_code == 404


def test_viewer_sees_an_own_procedure_without_its_change(own, client_as):
    viewer = builders.make_member(own.rig.household, "viewer")

    text = client_as(viewer).get(reverse("library", args=[own.key])).content.decode()

    assert "Hang it out." in text
    assert "Change job" not in text
