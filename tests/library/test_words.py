"""The owners' words: whole, of things that are there, and each with one meaning."""

import pytest

from maintenance.calculators.subjects import CALCULATORS
from maintenance.findings.zones import entries
from maintenance.library.errors import LibraryError
from maintenance.library.reading import load_library
from maintenance.library.words import FILE, NAMED, load_words, read_words
from maintenance.pages.models import SearchKind
from maintenance.pages.search.common import PAGES
from maintenance.pages.search.views import DANGER
from maintenance.troubleshooting.reading import load_trees

KEYS = {
    "procedure": load_library().procedures.keys(),
    "place": load_library().spots.keys(),
    "guide": load_trees().keys(),
    "calculator": CALCULATORS.keys(),
    "zone": {zone.key for zone in entries()},
    "page": PAGES.keys(),
}


@pytest.mark.parametrize("kind", NAMED)
def test_everything_has_names_and_no_name_is_of_nothing(kind):
    assert load_words().names[kind].keys() == KEYS[kind]


def test_no_thing_has_a_name_twice():
    for kind in NAMED:
        for key, names in load_words().names[kind].items():
            assert len(names) == len(set(names)), (kind, key)


def test_kinds_that_words_want_are_kinds_of_the_search():
    assert load_words().words.wants.keys() <= {*SearchKind.values, DANGER}


def test_every_name_says_something():
    words = load_words().words
    for kind in NAMED:
        for key, names in load_words().names[kind].items():
            assert all(words.slots(name) for name in names), (kind, key)


@pytest.mark.parametrize(
    ("was", "now", "problem"),
    [
        ('  ["gasoline", "petrol"],', '  ["gasoline", "lp"],', '"lp" is in two rows'),
        ('bottle = ["cylinder"]', 'bottle = ["of"]', "must be one word"),
        ("[zone]", "[zoen]", 'needs "zone"'),
        ('lit = "light"', "lit = 3", "must be a text"),
    ],
)
def test_slip_in_the_file_is_named(tmp_path, was, now, problem):
    text = FILE.read_text()
    assert was in text
    copy = tmp_path / "words.toml"
    copy.write_text(text.replace(was, now, 1))

    with pytest.raises(LibraryError, match=problem):
        read_words(copy)
