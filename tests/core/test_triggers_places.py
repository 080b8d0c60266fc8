"""Places of an event: all but some behave like sets over any places there may be."""

from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.triggers.places import Places

EVERYWHERE = frozenset("abcdef")
some = st.frozensets(st.sampled_from("abcd"))
places = st.one_of(some.map(Places), some.map(lambda names: Places(None, names)))


def as_set(one: Places) -> frozenset[str]:
    return EVERYWHERE - one.but if one.names is None else one.names


@given(places, places)
def test_places_are_sets(one: Places, other: Places) -> None:
    assert as_set(one | other) == as_set(one) | as_set(other)
    assert as_set(one & other) == as_set(one) & as_set(other)
    assert as_set(one - other) == as_set(one) - as_set(other)


@given(places)
def test_places_are_true_when_there_are_any(one: Places) -> None:
    assert bool(one) == bool(as_set(one))
