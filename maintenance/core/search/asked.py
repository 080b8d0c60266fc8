"""What somebody typed, as groups of terms: one group for each word that counts."""

import bisect
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from .terms import Read, Words, stem, tokens_of

MOST_WORDS = 12
NEAR, JOINED, BEGUN, MISTYPED = 0.6, 1.0, 0.7, 0.8  # what these count of the word
PART_OF_FIGURE = 0.5  # 110 where "110 ft-lb" was asked
LEAST_MISTYPED = 4  # letters: shorter words are too like each other
LEAST_PART = 3  # letters of each word in "waterheater"
MOST_BEGUN = 40
ALIKE = 0.75


@dataclass(frozen=True, slots=True)
class Group:
    """A word that was typed, and how much each term counts that it is found by; the
    first is its own. `begun`: the word may be only begun, and these are its letters."""

    typed: str
    terms: dict[str, float]
    begun: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """`wants`: the kinds of things that its words ask for. `read_as`: words that
    nothing has, with the one taken instead. `unknown`: those with nothing like them."""

    groups: tuple[Group, ...] = ()
    wants: frozenset[str] = frozenset()
    read_as: tuple[tuple[str, str], ...] = ()
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What there is to find: all terms, sorted, and words as they are spelled.
    `elsewhere` says whether there are more things that have a term, or one that begins
    with these letters ("": no others)."""

    terms: Sequence[str]
    spellings: Sequence[str]
    elsewhere: Callable[[str, str], bool]

    def has(self, term: str) -> bool:
        return self.begun_by(term)[:1] == [term]

    def begun_by(self, start: str) -> Sequence[str]:
        at = bisect.bisect_left(self.terms, start)
        found = self.terms[at : at + MOST_BEGUN]
        return [term for term in found if term.startswith(start)]

    def like(self, word: str) -> str:
        """A word that is spelled much like it, begins alike, and is known."""
        if len(word) < LEAST_MISTYPED or not word.isalpha():
            return ""
        near = [one for one in self.spellings if one[0] == word[0]]
        return next(iter(get_close_matches(word, near, n=1, cutoff=ALIKE)), "")


def ask(words: Words, known: Known, typed: str) -> Asked:
    read = words.read(typed)[:MOST_WORDS]
    begun = "" if typed[-1:].isspace() else _last_word(typed)
    groups: list[Group] = []
    read_as: list[tuple[str, str]] = []
    unknown: list[str] = []
    for at, one in enumerate(read):
        last = begun if at == len(read) - 1 and one.typed == begun else ""
        terms = _terms_of(words, read, at)
        if any(map(known.has, terms)):
            groups.append(Group(one.typed, terms))
        elif known.elsewhere(one.slot[0], last):
            groups.append(Group(one.typed, terms, last))
        elif last and (starts := known.begun_by(last)):
            groups.append(Group(one.typed, terms | dict.fromkeys(starts, BEGUN), last))
        elif parts := _apart(words, known, one.typed):
            groups += [Group(part, {words.term(part): 1}) for part in parts]
        elif like := known.like(one.typed):
            groups.append(Group(one.typed, {words.term(like): MISTYPED}))
            read_as.append((one.typed, like))
        else:
            unknown.append(one.typed)
    return Asked(tuple(groups), _wanted(words, typed), tuple(read_as), tuple(unknown))


def _last_word(typed: str) -> str:
    return next(reversed([token.word for token in tokens_of(typed)]), "")


def _terms_of(words: Words, read: list[Read], at: int) -> dict[str, float]:
    """The word's own term first; then itself joined with its neighbors, and what is
    near it."""
    own, *others = read[at].slot
    if " " in read[at].typed:  # of a phrase, the words alone are something else
        others = []
    terms = {own: 1.0} | {
        other: PART_OF_FIGURE if own.startswith(other) else JOINED for other in others
    }
    for first, second in ((at - 1, at), (at, at + 1)):
        if first >= 0 and second < len(read):
            joined = f"{read[first].typed}{read[second].typed}".replace(" ", "")
            terms.setdefault(words.term(joined), JOINED)
    for near in words.near.get(own, ()):
        terms.setdefault(near, NEAR)
    return terms


def _apart(words: Words, known: Known, typed: str) -> list[str]:
    """ "waterheater" as two words that are known; none where it is not."""
    for at in range(LEAST_PART, len(typed) - LEAST_PART + 1):
        parts = [typed[:at], typed[at:]]
        if all(known.has(words.term(part)) for part in parts):
            return parts
    return []


def _wanted(words: Words, typed: str) -> frozenset[str]:
    said = " ".join(stem(token.word) for token in tokens_of(typed))
    return frozenset(
        kind
        for kind, phrases in words.wants.items()
        if any(f" {' '.join(phrase)} " in f" {said} " for phrase in phrases)
    )
