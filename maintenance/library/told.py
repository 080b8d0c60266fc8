"""What work told in words is, by the words that the library has for it."""

import functools
import re
from collections.abc import Iterable, Iterator

from .model import Procedure

# What stands between them is told apart: "new brake lights, checked the tires".
BETWEEN = re.compile(r"[.,;:!?\n]+")
WORD = re.compile(r"[a-z0-9]+")


def told_in(text: str, procedures: Iterable[Procedure]) -> list[Procedure]:
    """Those of which all words of one of their names stand in one part of the text, in
    any order: "rotated all four tires" and "tires were rotated" are "rotated tires"."""
    parts = [set(_words(part)) for part in BETWEEN.split(text.casefold())]
    return [
        one
        for one in procedures
        if any(part >= _words_of(name) for name in one.also_called for part in parts)
    ]


@functools.cache
def _words_of(name: str) -> frozenset[str]:
    return frozenset(_words(name))


def _words(text: str) -> Iterator[str]:
    """Without the s of the plural."""
    for word in WORD.findall(text):
        yield word.removesuffix("s") if len(word) > 3 else word
