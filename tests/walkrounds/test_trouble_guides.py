"""The guides of the program: whole, safe, and every path in them ends."""

import re
from pathlib import Path

import pytest

from maintenance.core.trouble import Ending, Question, walk
from maintenance.plans.procedures import load_library
from maintenance.plans.procedures.errors import LibraryError
from maintenance.walkrounds.trouble.reading import FOLDER, load_trees, read_trees

TREES = load_trees()
ENDINGS = [
    (tree.key, step)
    for tree in TREES.values()
    for step in tree.steps.values()
    if isinstance(step, Ending)
]
STOPS = [(tree, ending) for tree, ending in ENDINGS if ending.stop]
DANGEROUS = [
    key
    for key, tree in TREES.items()
    if isinstance(first := tree.step(""), Question) and first.danger
]
ALL_EQUIPMENT = frozenset(load_library().equipment)
# Work on these is a licensed shop's; the owner looks, cleans, or leaves.
REPAIRS = re.compile(r"\b(adjust|repair|replace|rewire|open) the (regulator|jet|gas)")
BLOCKING = re.compile(r"\b(block|cover|plug|seal|tape|close)\w*\b[^.]*\bvent", re.I)


def test_there_are_twelve_guides():
    assert len(TREES) == 12


def paths(tree, equipment):
    """Every path of the tree without the ways back, as answers."""
    waiting = [()]
    while waiting:
        path = waiting.pop()
        here = walk(TREES, tree, path, equipment)
        if isinstance(here.now, Ending):
            yield path, here.now
            continue
        waiting += [(*path, answer.key) for answer in here.answers]


@pytest.mark.parametrize("equipment", [ALL_EQUIPMENT, frozenset()])
@pytest.mark.parametrize("tree", TREES)
def test_every_path_comes_to_a_cause(tree, equipment):
    found = list(paths(tree, equipment))

    assert found
    assert all(len(path) <= 12 for path, _ending in found)


@pytest.mark.parametrize("tree", DANGEROUS)
def test_yes_to_danger_stops_or_asks_on_about_danger(tree):
    first = TREES[tree].step("")
    yes = first.answers[0]

    now = walk(TREES, tree, [yes.key], ALL_EQUIPMENT).now

    assert now.stop if isinstance(now, Ending) else now.danger


@pytest.mark.parametrize(("tree", "ending"), STOPS)
def test_danger_is_a_shops_and_has_its_caution(tree, ending):
    assert ending.who == "shop"
    assert ending.cautions


@pytest.mark.parametrize(("tree", "ending"), ENDINGS)
def test_no_cause_tells_an_owner_to_work_on_gas_or_shut_a_vent(tree, ending):
    told = " ".join(ending.do)

    assert not REPAIRS.search(told)
    assert not BLOCKING.search(told)


def test_smell_of_gas_stops_everything_in_the_guides_about_gas():
    for tree in ("gas_flame", "water_heater", "fridge_on_gas"):
        answers = {"gas_flame": ["yes"]}.get(tree, ["gas", "yes"])
        ending = walk(TREES, tree, answers).now
        assert ending.stop
        assert "Everybody out" in ending.do[0]


@pytest.mark.parametrize(
    ("was", "now", "problem"),
    [
        ('key = "pump_dead"', 'key = "pump_gone"', "which is not there"),
        ('who = "owner"', 'who = "owned"', "did you mean"),
        ('items = ["pump_strainer"]', 'items = ["pump_strain"]', "did you mean"),
        ("unknown =", "unkown =", "did you mean"),
    ],
)
def test_slip_in_a_file_is_named(tmp_path: Path, was, now, problem):
    for file in FOLDER.glob("*.toml"):
        text = file.read_text()
        if file.stem == "low_water_flow":
            text = text.replace(was, now)
        (tmp_path / file.name).write_text(text)

    with pytest.raises(LibraryError, match=problem):
        read_trees(tmp_path, load_library())
