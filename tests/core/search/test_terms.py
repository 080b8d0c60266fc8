"""Texts as terms: word forms, phrases, figures and what is left out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.search.terms import Words

FRIDGE = {("fridg",): "fridg", ("refriger",): "fridg", ("p", "trap"): "ptrap"}
WORDS = Words(
    noise=frozenset({"the", "my", "a"}),
    forms={"lit": "light"},
    same={**FRIDGE, ("ft", "lb"): "ftlb", ("foot", "pound"): "ftlb"},
    units={"ftlb": "ftlb", "amp": "amp", "amps": "amp", "a": "amp"},
)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("leaks", "Leaking"),
        ("lit", "lighting"),
        ("my refrigerator", "the fridge"),
        ("P-trap", "p traps"),
        ("110 ft-lb", "110 foot pounds"),
        ("110ftlb", "110 ft\u00b7lb"),
        ("15 amp", "15A"),
        ("15-amp", "15 amps"),
        ("47,810", "47810"),
        ("na\u00efve", "naive"),
        ("won't", "won\u2019t"),
    ],
)
def test_what_means_the_same_has_the_same_terms(one, other):
    assert [slot[0] for slot in WORDS.slots(one)] == [
        slot[0] for slot in WORDS.slots(other)
    ]


def test_figure_is_one_term_with_its_unit_and_one_without():
    assert WORDS.slots("110 ft-lb") == (("110ftlb", "110"), ("ftlb",))


@pytest.mark.parametrize("typed", ["a wheel", "a 15 wheel"])
def test_short_name_of_a_unit_is_one_after_a_number_only(typed):
    assert ("amp",) not in WORDS.slots(typed)


def test_word_with_a_hyphen_is_found_by_its_parts_and_by_the_whole():
    assert WORDS.slots("HX-2207") == (("hx", "hx2207"), ("2207", "hx2207"))


@given(st.text(max_size=80))
def test_terms_are_letters_and_digits_whatever_the_text(text):
    for slot in WORDS.slots(text):
        assert all(term.isalnum() for term in slot)
