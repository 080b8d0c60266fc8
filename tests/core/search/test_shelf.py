"""What comes first: by names and rare words, in the few lines that explain it."""

import pytest

from maintenance.core.search.shelf import Line, Shelf, Thing
from maintenance.core.search.terms import Words

WORDS = Words(
    noise=frozenset({"the", "my", "is"}),
    weak=frozenset({"check"}),
    near={"gas": ("propan",)},
    wants={"guide": frozenset({("will", "not")})},
)


def thing(title, *steps, kind="job", names=()):
    lines = [Line(1, name, WORDS.slots(name)) for name in (title, *names)]
    lines += [Line(0.4, step, WORDS.slots(step)) for step in steps]
    return Thing(kind, title, title, tuple(lines))


def first(typed, *things, **weights):
    shelf = Shelf(WORDS, things, weights)
    return [one.thing.title for one in shelf.rank(shelf.ask(typed))]


def test_name_counts_more_than_a_step():
    assert first("pump", thing("Faucet", "See the pump"), thing("Pump")) == [
        "Pump",
        "Faucet",
    ]


def test_name_of_these_words_alone_counts_more_than_a_longer_one():
    assert first("pump", thing("Pump of the macerator"), thing("Pump"))[0] == "Pump"


def test_rare_word_counts_more_than_a_common_one():
    things = [thing(f"Tank {name}") for name in ("valve", "gauge", "vent")]

    assert first("tank gauge", *things)[0] == "Tank gauge"


def test_weak_word_decides_nothing():
    assert first("check pump", thing("Check roof"), thing("Pump")) == ["Pump"]


def test_half_of_what_was_asked_is_enough():
    assert first("pump hums loudly today", thing("Pump"), thing("Roof")) == ["Pump"]
    assert first("pump and quite another roof", thing("Stove")) == []


def test_near_word_is_found_after_the_word_itself():
    assert first("gas", thing("Propane"), thing("Gas")) == ["Gas", "Propane"]


def test_kind_that_the_words_ask_for_comes_first():
    things = [thing("Furnace burner"), thing("Furnace out", kind="guide")]

    assert first("furnace", *things)[0] == "Furnace burner"
    assert first("furnace will not", *things)[0] == "Furnace out"


def test_kind_may_count_less_than_others():
    things = [thing("Pump", kind="zone"), thing("Pump and strainer")]

    assert first("pump", *things)[0] == "Pump"
    assert first("pump", *things, zone=0.5)[0] == "Pump and strainer"


def test_what_is_not_on_the_shelf_is_ranked_as_if_it_were():
    shelf = Shelf(WORDS, [thing("Pump")])
    (on,), (beside,) = (
        shelf.rank(shelf.ask("pump")),
        shelf.rank_others(shelf.ask("pump"), [thing("Pump")]),
    )

    assert on.rank == beside.rank


@pytest.mark.parametrize(
    ("typed", "read_as", "unknown"),
    [
        ("regulattor", (("regulattor", "regulator"),), ()),
        ("zzyzx", (), ("zzyzx",)),
        ("regul", (), ()),  # begun
        ("reg ", (), ("reg",)),
        ("gasregulator", (), ()),
        ("2207", (), ("2207",)),  # no number is a slip of another
    ],
)
def test_unknown_word_is_read_as_begun_joined_or_mistyped(typed, read_as, unknown):
    shelf = Shelf(WORDS, [thing("Gas regulator")])

    asked = shelf.ask(typed)

    assert (asked.read_as, asked.unknown) == (read_as, unknown)


def test_word_that_is_known_elsewhere_is_kept_as_typed():
    shelf = Shelf(WORDS, [thing("Gas regulator")])

    asked = shelf.ask("regulattor ", lambda term, _begun: term == "regulattor")

    assert [next(iter(group.terms)) for group in asked.groups] == ["regulattor"]
