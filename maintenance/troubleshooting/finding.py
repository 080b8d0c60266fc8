"""Finding a guide by what somebody types in plain words."""

import re
from collections.abc import Iterable

from maintenance.core.trouble import Tree

# Words that a sentence needs and a guide does not: "my furnace won't light".
FILLERS = frozenset(
    (
        *("a", "an", "and", "are", "at", "do", "does", "doesnt", "dont", "has", "have"),
        *("i", "in", "is", "isnt", "it", "its", "my", "no", "not", "of", "on", "or"),
        *("our", "out", "the", "there", "to", "wants", "when", "will", "with", "wont"),
    )
)


def fits(tree: Tree, typed: str) -> bool:
    """Every word typed begins a word of the title or of what else it is called."""
    words = list(_words(" ".join((tree.title, *tree.also_called))))
    asked = [word for word in _words(typed) if word not in FILLERS]
    return all(any(word.startswith(one) for word in words) for one in asked)


def _words(text: str) -> Iterable[str]:
    """Without apostrophes and endings: "brakes" finds "brake", "keeps" "keep"."""
    for word in re.findall(r"\w+", re.sub("['\u2019]", "", text.casefold())):
        yield word[:-1] if len(word) > 3 and word.endswith("s") else word
