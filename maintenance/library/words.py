"""How owners say it, read once from `words.toml` and checked."""

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from maintenance.core.facts import FactError
from maintenance.core.fields import Fields, as_list, as_text
from maintenance.core.search.terms import Words, stem, tokens_of

from .errors import naming

FILE = Path(__file__).parent / "words.toml"
NAMED = ("procedure", "guide", "calculator", "place", "zone", "page")
Names = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class OwnersWords:
    """`names`: by kind of thing and its key, what else it is called."""

    words: Words
    names: Mapping[str, Names]

    def names_of(self, kind: str, key: str) -> tuple[str, ...]:
        return self.names[kind].get(key, ())


@functools.cache
def load_words() -> OwnersWords:
    """Raises LibraryError, naming the table and the key."""
    return read_words(FILE)


def read_words(path: Path) -> OwnersWords:
    with naming(path.name):
        data = Fields(tomllib.loads(path.read_text(encoding="utf-8")), "")
        noise, weak = (
            as_text(data.take(key), key).split() for key in ("noise", "weak")
        )
        units = [(short, unit) for unit, row in _rows(data, "units") for short in row]
        words = Words(noise=frozenset(noise), forms=_forms(data))
        words = _with_same(words, data)
        words = replace(
            words,
            weak=frozenset(map(words.term, weak)),
            near=_near(words, data),
            units={short: words.term(unit) for short, unit in units},
            wants={
                kind: frozenset(_stems(phrase) for phrase in row)
                for kind, row in _rows(data, "wants")
            },
        )
        names = {kind: dict(_rows(data, kind)) for kind in NAMED}
        data.finish()
        return OwnersWords(words, names)


def _rows(data: Fields, table: str) -> list[tuple[str, tuple[str, ...]]]:
    """A table of lists of texts."""
    rows = Fields(data.take(table), table)
    return [(key, _texts(rows.take(key), rows.at(key))) for key in rows.names()]


def _texts(value: object, place: str) -> tuple[str, ...]:
    return tuple(as_text(one, place) for one in as_list(value, place))


def _forms(data: Fields) -> dict[str, str]:
    forms = Fields(data.take("forms"), "forms")
    return {key: as_text(forms.take(key), forms.at(key)) for key in forms.names()}


def _with_same(words: Words, data: Fields) -> Words:
    """Single words first: in a phrase they stand for one another."""
    listed = as_list(data.take("same"), "same")
    rows = [_texts(row, f"same.{number}") for number, row in enumerate(listed, 1)]
    same: dict[tuple[str, ...], str] = {}
    for phrases in (False, True):
        words = replace(words, same=dict(same))
        for row in rows:
            term = stem("".join(token.word for token in tokens_of(row[0])))
            for name in row:
                parts = tuple(words.term(token.word) for token in tokens_of(name))
                if (len(parts) > 1) is not phrases:
                    continue
                if same.setdefault(parts, term) != term:
                    raise FactError("same", f'"{name}" is in two rows')
    return replace(words, same=same)


def _near(words: Words, data: Fields) -> dict[str, tuple[str, ...]]:
    near: dict[str, tuple[str, ...]] = {}
    for name, row in _rows(data, "near"):
        (own,) = _terms(words, name, f"near.{name}")
        if own in near:
            raise FactError(f"near.{name}", "is there twice, in another form")
        near[own] = tuple(t for one in row for t in _terms(words, one, f"near.{name}"))
    return near


def _terms(words: Words, name: str, place: str) -> list[str]:
    slots = words.slots(name)
    if len(slots) != 1:
        raise FactError(place, f'"{name}" must be one word, or a phrase of "same"')
    return [slots[0][0]]


def _stems(phrase: str) -> tuple[str, ...]:
    return tuple(stem(token.word) for token in tokens_of(phrase))
