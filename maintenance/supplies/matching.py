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
    r",|\s(?:that|which|of|for|with|on|above|in|to|made|marked|kept|you|never|reads)\s"
)
_IDLE = {"a", "an", "the", "your", "one", "new", "clean", "right"}


@cache
def heads(asked: str) -> tuple[frozenset[str], ...]:
    """The words of each thing that would do, without what is said about it."""
    parts = re.split(r",?\s+or\s+", asked.lower())
    found = (_words(_MORE.split(f"{part} ")[0]) for part in parts)
    return tuple(head for head in found if head)


def head_text(asked: str) -> str:
    """The first thing that would do, as a name: “Jack”, “Ruler”."""
    first = re.split(r",?\s+or\s+", asked)[0]
    return _MORE.split(f"{first} ")[0].strip()


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


def asks_for_a_person(asked: str) -> bool:
    return asked.lower().startswith("helper")


@cache
def _words(text: str) -> frozenset[str]:
    return frozenset(_singular(w) for w in _WORD.findall(text) if w not in _IDLE)


def _singular(word: str) -> str:
    if word.endswith(("ches", "shes", "xes")):
        return word[:-2]
    if word.endswith("s") and not word.endswith("ss") and len(word) > 3:
        return word[:-1]
    return word
