"""Whether something on the household's list is what a procedure asks for.

Procedures ask in words (“Ruler or caliper”, “Jack for the weight of the rig, with base
plate”), and people name things in theirs. What is matched is always shown by its name,
so that a wrong guess can be seen.
"""

import re
from functools import cache

_WORD = re.compile(r"[a-z0-9]+(?:[-/][a-z0-9]+)*")
# What follows one of these says more about the thing; it is not its name.
_MORE = re.compile(
    r",|\s(?:that|which|if|of|for|with|on|above|in|made|marked|kept|you|never|reads)\s"
)
_OR = re.compile(r",?\s+or\s+")
_IDLE = {"a", "an", "the", "your", "one", "new", "clean", "right"}
_NUMBER_FIRST = re.compile(r"(?:a\s+)?[0-9]", re.IGNORECASE)


@cache
def heads(asked: str) -> tuple[frozenset[str], ...]:
    """The words of each thing that would do, without what is said about it."""
    found = (_words(_name(part).lower()) for part in _OR.split(asked))
    return tuple(head for head in found if head)


def head_text(asked: str) -> str:
    """The first thing that would do, as a name: “Jack”, “Ruler”."""
    return _name(_OR.split(asked)[0])


def _name(part: str) -> str:
    """An amount belongs to the name: “A 2.5 to 5 lb bag of ice”."""
    return part if _NUMBER_FIRST.match(part) else _MORE.split(f"{part} ")[0].strip()


def tool_answers(name: str, asked: str) -> bool:
    """A tool answers when its name has all the words asked for: a “Deep socket” is a
    “Socket”."""
    own = _words(name.lower())
    return any(head <= own for head in heads(asked))


def supply_answers(name: str, asked: str) -> bool:
    """A supply answers only by the very words: an “Air filter” is no “Filter”."""
    own = _words(name.lower())
    return own == _words(asked.lower()) or own in heads(asked)


def asks_for_torque_wrench(asked: str) -> bool:
    return "torque wrench" in asked.lower()


def same_thing(one: str, other: str) -> bool:
    """“Rag” and “Rags” are one thing."""
    return _words(one.lower()) == _words(other.lower())


def is_at_hand(asked: str) -> bool:
    """What nobody puts on a list: people, water, a phone, pen and paper, a scale by the
    road. It is never said to be missing."""
    return any(head <= words for head in heads(asked) for words in AT_HAND)


@cache
def _words(text: str) -> frozenset[str]:
    return frozenset(_singular(w) for w in _WORD.findall(text) if w not in _IDLE)


def _singular(word: str) -> str:
    if word.endswith(("ches", "shes", "xes")):
        return word[:-2]
    if word.endswith("s") and not word.endswith("ss") and len(word) > 3:
        return word[:-1]
    return word


AT_HAND = [
    _words(text)
    for text in (
        "helper standing well aside",
        "fresh warm hot water",
        "phone camera",
        "photo",
        "notebook pencil paper strip note tag",
        "cup",
        "watch",
        "storage list",
        "public scale",
    )
]
