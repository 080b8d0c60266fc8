"""No string of the sources says what is banned."""

import pytest

from .banned import FORMS, WORDS, slips_in
from .sources import sources


def test_no_source_says_a_banned_word():
    slips = [one for where, text in sources() for one in slips_in(text, where, WORDS)]

    assert not slips, "\n".join(map(str, slips))


def test_enough_strings_are_read():
    assert sum(1 for _ in sources()) > 5_000


@pytest.mark.parametrize(
    ("text", "patterns"),
    [
        ("The clock starts anew", WORDS),
        ("It is to be looked at", WORDS),
        ("This field is required.", WORDS),
        ("Wheels off on 30 Nov 2026", FORMS),
        ("at 14:05", FORMS),
        ("568.37 USD", FORMS),
        ("2269 days ago", FORMS),
    ],
)
def test_what_is_banned_is_found(text, patterns):
    assert list(slips_in(text, "here", patterns))


@pytest.mark.parametrize(
    "text",
    [
        "Nov 30, 2026",
        "7:00 AM",
        "$568.37",
        "no more than 60 psi",
        "12:30 PM",
        "in fall",
    ],
)
def test_what_is_right_is_not_found(text):
    assert not list(slips_in(text, "here", WORDS | FORMS))
