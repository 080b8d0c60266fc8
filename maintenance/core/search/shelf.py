"""Things with their names, ranked by how well they answer what was asked.

A thing has lines: its title and what else it is called, then lines that count less (a
cause that a guide ends with, a step). The rank of a thing, from 0 to about 1.35:

- its best line: the share of what was asked that is in the line, times how much of the
  line was asked for (all of it 1, next to nothing a half), times the line's weight; a
  tenth more where the line has every word;
- and a quarter of the share of what was asked that is anywhere in the thing.

A rare word counts more than one that many things have. A thing needs half of what was
asked. A kind of thing that the words ask for ("how much", "where is") counts a third
more.
"""

import math
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from .asked import Asked, Group, Known, ask
from .terms import A_NUMBER, WEAK, Slot, Words, tokens_of

ANYWHERE = 0.25
LEAST_SHARE = 0.5
WANTED = 1.3
SILENT = 0.02
COMPLETE = 1.1
SPELLED = 0.5  # the least weight of a line whose words are known by their letters


@dataclass(frozen=True, slots=True)
class Line:
    weight: float
    text: str
    slots: tuple[Slot, ...]


@dataclass(frozen=True, slots=True)
class Thing:
    """`about` is shown beside the title."""

    kind: str
    key: str
    title: str
    lines: tuple[Line, ...]
    about: str = ""


@dataclass(frozen=True, slots=True)
class Ranked:
    """`line` is the line that answered best."""

    thing: Thing
    rank: float
    line: str


# term -> where it is: the number of the thing, of the line in it, of the slot in that
Places = Mapping[str, Sequence[tuple[int, int, int]]]


@dataclass(slots=True)
class _Hits:
    """What of a line was asked: how well each group is met, and each slot."""

    groups: dict[int, float] = field(default_factory=dict)
    slots: dict[int, float] = field(default_factory=dict)

    def add(self, group: int, slot: int, fits: float) -> None:
        self.groups[group] = max(self.groups.get(group, 0), fits)
        self.slots[slot] = max(self.slots.get(slot, 0), fits)


class Shelf:
    """Things in memory. `weights`: what a kind counts beside the others."""

    def __init__(
        self,
        words: Words,
        things: Iterable[Thing],
        weights: Mapping[str, float] | None = None,
    ) -> None:
        self.words = words
        self.things = list(things)
        self.weights = weights or {}
        self._places = _places_of(self.things)
        self._terms = sorted(self._places)
        self._spellings = _spelled(self.things)
        self._rarity = {t: self._rarity_of(t) for t in self._terms}
        self._totals = [[self._total(ln) for ln in t.lines] for t in self.things]

    def ask(
        self, typed: str, elsewhere: Callable[[str, str], bool] = lambda *_: False
    ) -> Asked:
        return ask(self.words, Known(self._terms, self._spellings, elsewhere), typed)

    def rank(self, asked: Asked, kinds: Collection[str] = ()) -> list[Ranked]:
        """Best first; of all kinds where none are named."""
        ranked = self._ranked(asked, self.things, self._places, self._totals)
        return [one for one in ranked if not kinds or one.thing.kind in kinds]

    def rank_others(self, asked: Asked, things: Sequence[Thing]) -> list[Ranked]:
        """Things that are not on the shelf, ranked as if they were."""
        totals = [[self._total(line) for line in thing.lines] for thing in things]
        return self._ranked(asked, things, _places_of(things), totals)

    def _ranked(
        self,
        asked: Asked,
        things: Sequence[Thing],
        places: Places,
        totals: list[list[float]],
    ) -> list[Ranked]:
        """Those of the same rank as they came."""
        found = [
            one
            for number, lines in sorted(_hits(asked.groups, places).items())
            if (one := self._rank(asked, things[number], lines, totals[number]))
        ]
        return sorted(found, key=lambda one: -round(one.rank, 3))

    def _rank(
        self, asked: Asked, thing: Thing, lines: dict[int, _Hits], totals: list[float]
    ) -> Ranked | None:
        """None: less than half of what was asked is in it."""
        weights = [self._weight(group) for group in asked.groups]
        whole, anywhere = sum(weights), [0.0] * len(weights)
        best, best_line = 0.0, ""
        for at, hits in lines.items():
            line = thing.lines[at]
            share = sum(weights[n] * fits for n, fits in hits.groups.items()) / whole
            met = sum(self.rarity(line.slots[s][0]) * f for s, f in hits.slots.items())
            rank = line.weight * share * (0.5 + 0.5 * met / totals[at])
            rank *= COMPLETE if len(hits.groups) == len(weights) else 1
            if rank > best:
                best, best_line = rank, line.text
            for n, fits in hits.groups.items():
                anywhere[n] = max(anywhere[n], weights[n] * fits)
        found = sum(anywhere) / whole
        if found < LEAST_SHARE:
            return None
        rank = (best + ANYWHERE * found) * self.weights.get(thing.kind, 1)
        wanted = WANTED if thing.kind in asked.wants else 1
        return Ranked(thing, rank * wanted, best_line)

    def _weight(self, group: Group) -> float:
        """That of the word itself."""
        return self.rarity(next(iter(group.terms)))

    def _total(self, line: Line) -> float:
        """All that could be asked of it; words that say nothing count next to it."""
        silent = max(line.text.count(" ") + 1 - len(line.slots), 0)
        return sum(self.rarity(slot[0]) for slot in line.slots) + SILENT * silent

    def rarity(self, term: str) -> float:
        """From little (most things have it) to 1 (one or none has it)."""
        weak = WEAK if term in self.words.weak else 1.0
        if term[0].isdigit():
            weak = A_NUMBER
        return weak * self._rarity.get(term, 1)

    def _rarity_of(self, term: str) -> float:
        things = len({number for number, _line, _slot in self._places[term]})
        return math.log(1 + len(self.things) / things) / math.log(1 + len(self.things))


def _spelled(things: Iterable[Thing]) -> list[str]:
    """The words of names and reasons; steps have too many that nobody asks for."""
    texts = (ln.text for one in things for ln in one.lines if ln.weight >= SPELLED)
    return sorted({token.word for text in texts for token in tokens_of(text)})


def _places_of(things: Sequence[Thing]) -> dict[str, list[tuple[int, int, int]]]:
    places: dict[str, list[tuple[int, int, int]]] = defaultdict(list)
    for number, thing in enumerate(things):
        for at, line in enumerate(thing.lines):
            for position, slot in enumerate(line.slots):
                for term in slot:
                    places[term].append((number, at, position))
    return dict(places)


def _hits(groups: Sequence[Group], places: Places) -> dict[int, dict[int, _Hits]]:
    """By thing and line."""
    found: dict[int, dict[int, _Hits]] = {}
    for number, group in enumerate(groups):
        for term, fits in group.terms.items():
            for thing, line, slot in places.get(term, ()):
                lines = found.setdefault(thing, {})
                lines.setdefault(line, _Hits()).add(number, slot, fits)
    return found
