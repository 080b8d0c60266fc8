"""Finding a guide by a sentence: "my fridge is warm on propane"."""

import functools
from collections.abc import Iterator

from maintenance.core.search.shelf import Line, Shelf, Thing
from maintenance.core.trouble import Question, Tree
from maintenance.library.things import lines, names
from maintenance.library.words import load_words

from .reading import load_trees

GUIDE = "guide"
# What a line counts beside a name: a question or a cause, an answer, what to do.
ASKED, ANSWERED, DONE = 0.6, 0.4, 0.3
LEAST = 0.5  # of the best guide's rank


def guide_things() -> Iterator[Thing]:
    for tree in load_trees().values():
        yield Thing(GUIDE, tree.key, tree.title, tuple(_lines(tree)))


def _lines(tree: Tree) -> Iterator[Line]:
    yield from names(GUIDE, tree.key, tree.title, *tree.also_called)
    for step in tree.steps.values():
        if isinstance(step, Question):
            yield from lines(ASKED, step.ask)
            yield from lines(ANSWERED, *(one.words for one in step.answers))
            yield from lines(DONE, step.look)
        else:
            yield from lines(ASKED, step.cause)
            yield from lines(DONE, *step.do)


@functools.cache
def _guides() -> Shelf:
    return Shelf(load_words().words, guide_things())


def find_guides(typed: str) -> list[Tree]:
    """The nearest first; all of them where no word is typed."""
    trees = load_trees()
    if not typed.strip():
        return list(trees.values())
    ranked = _guides().rank(_guides().ask(typed))
    return [
        trees[one.thing.key] for one in ranked if one.rank >= LEAST * ranked[0].rank
    ]
