"""Procedures and places as things that are found by words."""

from collections.abc import Iterable, Iterator

from maintenance.core.search.shelf import Line, Thing

from .model import Procedure
from .reading import load_library
from .words import load_words

PROCEDURE, PLACE = "procedure", "place"
# What a line counts beside a name: why, what is done, what it takes.
NAME, REASON, STEP, NEEDED = 1.0, 0.5, 0.35, 0.3


def lines(weight: float, *texts: str) -> Iterator[Line]:
    """A line each, as the owners' words read it."""
    words = load_words().words
    for text in texts:
        if slots := words.slots(text):
            yield Line(weight, text, slots)


def names(kind: str, key: str, *others: str) -> Iterator[Line]:
    """What a thing is called: each name once."""
    return lines(NAME, *dict.fromkeys([*others, *load_words().names_of(kind, key)]))


def procedure_things() -> Iterator[Thing]:
    library = load_library()
    for one in library.procedures.values():
        system = library.systems[one.system].title
        yield Thing(
            PROCEDURE, one.key, one.title, tuple(procedure_lines(one, system)), system
        )


def procedure_lines(procedure: Procedure, system: str = "") -> Iterable[Line]:
    yield from names(
        PROCEDURE,
        procedure.key,
        procedure.title,
        procedure.short,
        *procedure.also_called,
    )
    yield from lines(REASON, procedure.why)
    yield from lines(STEP, *procedure.steps)
    yield from lines(NEEDED, *procedure.tools, *procedure.supplies, system)


def place_things() -> Iterator[Thing]:
    for spot in load_library().spots.values():
        found = (*names(PLACE, spot.key, spot.title), *lines(REASON, spot.often))
        yield Thing(PLACE, spot.key, spot.title, found, spot.often)
