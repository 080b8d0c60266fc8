"""A text as terms, so that "Leaking P-traps" and "p trap leaks" have the same ones.

Small letters and word stems; numbers without thousand separators, with their unit as
one term ("110 ft-lb" is `110ftlb`); words and phrases that mean the same are one term
("refrigerator" is `fridg`). Terms are letters and digits, so that every database takes
them whole.
"""

import functools
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?!\d))")
TOKEN = re.compile(r"\d+(?:[./]\d+)+|[^\W_]+")
SIGNS = str.maketrans({".": "d", "/": "s"})  # in numbers: 13.2 is `13d2`
NUMBER = re.compile(r"\d+(?:[ds]\d+)*")
NUMBER_AND_UNIT = re.compile(r"(\d+(?:[ds]\d+)?)([a-z]+)")
APOSTROPHES = re.compile("['\u2018\u2019]")
HYPHENS = re.compile("(?<=\\w)[-\u2010-\u2014\u00b7](?=\\w)")
WEAK = 0.25  # what a word that says little counts of another
A_NUMBER = 0.4  # likewise

# What one word of a text can be found by; the first is its own term.
Slot = tuple[str, ...]


class Token(NamedTuple):
    """A word as it stands; `joined`: the whole of what a hyphen joins it with."""

    word: str
    joined: str = ""


class Read(NamedTuple):
    """A word or phrase of a text, as it stands and as a slot."""

    typed: str
    slot: Slot


@dataclass(frozen=True)
class Words:
    """What is known of words; a phrase is a tuple of terms.

    `noise` says nothing, `weak` little. `forms` are forms that no stem joins (lit:
    light), `same` gives one term for what means the same, `near` what is found as well,
    though less. `units` has their short names. `wants`: phrases that say which kind of
    thing is wanted.
    """

    noise: frozenset[str] = frozenset()
    weak: frozenset[str] = frozenset()
    forms: Mapping[str, str] = field(default_factory=dict)
    same: Mapping[tuple[str, ...], str] = field(default_factory=dict)
    near: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    wants: Mapping[str, frozenset[tuple[str, ...]]] = field(default_factory=dict)

    @functools.cached_property
    def longest(self) -> Mapping[str, int]:
        """By the first term of phrases, how many words the longest of them has."""
        longest: dict[str, int] = {}
        for phrase in self.same:
            longest[phrase[0]] = max(longest.get(phrase[0], 0), len(phrase))
        return longest

    @functools.cached_property
    def unit_terms(self) -> frozenset[str]:
        return frozenset(self.units.values())

    def term(self, word: str) -> str:
        """The one term of a word."""
        found = stem(self.forms.get(word, word))
        return self.same.get((found,), found)

    def read(self, text: str) -> list[Read]:
        """What a text says, word by word; those that say nothing are left out."""
        tokens = [part for one in tokens_of(text) for part in self._apart(one)]
        terms = [self.term(token.word) for token in tokens]
        found: list[Read] = []
        at = 0
        while at < len(tokens):
            word = tokens[at].word
            if length := self._phrase(terms, at):
                parts = terms[at : at + length]
                own = self.same[tuple(parts)]
                slot = [own] if own in self.unit_terms else [own, *parts]
                typed = " ".join(token.word for token in tokens[at : at + length])
                found.append(Read(typed, tuple(dict.fromkeys(slot))))
            elif unit := self._unit_after(found, word):
                found.append(Read(word, (unit,)))
            elif word not in self.noise:
                joined = [stem(tokens[at].joined)] if tokens[at].joined else []
                found.append(Read(word, (terms[at], *joined)))
            at += length or 1
        return self._with_figures(found)

    def slots(self, text: str) -> tuple[Slot, ...]:
        return tuple(one.slot for one in self.read(text))

    def _apart(self, token: Token) -> Iterator[Token]:
        """ "15amp" is 15 and amp."""
        match = NUMBER_AND_UNIT.fullmatch(token.word)
        if match and match[2] in self.units:
            yield from (Token(match[1]), Token(match[2]))
        else:
            yield token

    def _phrase(self, terms: list[str], at: int) -> int:
        """How many words from here on are a phrase that is known; 0: none."""
        for length in range(self.longest.get(terms[at], 0), 1, -1):
            if tuple(terms[at : at + length]) in self.same:
                return length
        return 0

    def _unit_after(self, found: list[Read], word: str) -> str:
        """Short names of units ("30 a") are units after a number only."""
        if word not in self.units or not found:
            return ""
        return self.units[word] if NUMBER.fullmatch(found[-1].slot[0]) else ""

    def _with_figures(self, found: list[Read]) -> list[Read]:
        """A number can be found with its unit, too."""
        for at in range(len(found) - 1):
            number, unit = found[at].slot, found[at + 1].slot[0]
            if unit in self.unit_terms and NUMBER.fullmatch(number[0]):
                found[at] = Read(found[at].typed, (f"{number[0]}{unit}", *number))
        return found


def tokens_of(text: str) -> Iterator[Token]:
    plain = text.casefold()
    if not plain.isascii():
        plain = unicodedata.normalize("NFKD", plain.replace("\u00b0", " deg "))
        plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    plain = APOSTROPHES.sub("", plain.replace("\u2044", "/"))
    for chunk in HYPHENS.sub("-", THOUSANDS.sub("", plain)).split():
        parts = [part.translate(SIGNS) for part in TOKEN.findall(chunk)]
        joined = "".join(parts) if "-" in chunk and len(parts) > 1 else ""
        yield from (Token(part, joined) for part in parts)


@functools.lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    stemmed: str = word if word[0].isdigit() else _stem_word()(word)
    return stemmed


@functools.cache
def _stem_word() -> Callable[[str], str]:
    # Not loaded by processes that search nothing: it takes 3 MB.
    import snowballstemmer  # noqa: PLC0415

    found: Callable[[str], str] = snowballstemmer.stemmer("english").stemWord
    return found
