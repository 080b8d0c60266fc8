"""What somebody typed, as groups of words of which each must be found."""

import re
from collections.abc import Iterable

WORD = re.compile(r"\w+")
MOST_WORDS = 8
# Words of the trade that mean the same, common practice; British spelling among them.
SAME = (
    ("lug", "nut", "wheel nut"),
    ("tire", "tyre"),
    ("gray", "grey"),
    ("smell", "odor", "odour", "stink"),
    ("fridge", "refrigerator"),
    ("propane", "gas", "lpg", "lp"),
    ("leak", "drip", "weep"),
    ("flat", "dead", "empty"),
    ("caravan", "trailer"),
    ("motorhome", "coach"),
    ("faucet", "tap"),
    ("sanitize", "sanitise", "disinfect"),
    ("winterize", "winterise", "antifreeze"),
    ("alarm", "detector"),
    ("breaker", "fuse"),
    ("shore", "hookup", "pedestal"),
    ("gauge", "sensor", "probe"),
    ("heater", "furnace"),
    ("ac", "air conditioner", "aircon"),
    ("cylinder", "bottle"),
    ("sealant", "caulk"),
    ("rear view", "mirror"),
)


def groups_of(typed: str) -> list[list[str]]:
    """Each word with those that mean the same, itself first; none for no word.

    Words are lower case, letters, digits and `_` only: nothing of a query language.
    """
    words = list(dict.fromkeys(WORD.findall(typed.casefold())))[:MOST_WORDS]
    return [[word, *_same_as(word)] for word in words]


def _same_as(word: str) -> Iterable[str]:
    """Of a phrase that means the same, every word is needed: it is kept as one."""
    for row in SAME:
        if any(word in {name, f"{name}s"} for name in row):
            yield from (name for name in row if name != word)
