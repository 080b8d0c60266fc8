"""What was amended on a record: each change as it was, as it is, and why."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from maintenance.core.chain import differences

from ..models import ChainLink, LinkKind
from .content import filled
from .words import difference_words


@dataclass(frozen=True, slots=True)
class Told:
    """One amendment of a record; `changes` are sentences without their full stop."""

    at: datetime
    by: str
    why: str
    changes: tuple[str, ...]


def amendments(links: Iterable[ChainLink]) -> list[Told]:
    """From the links of one record, in the order of the chain."""
    return list(_told(sorted(links, key=lambda link: link.position)))


def _told(links: list[ChainLink]) -> Iterator[Told]:
    for before, after in pairwise(links):
        if after.kind in {LinkKind.AMENDED, LinkKind.MERGED}:
            old = filled(before.content)
            found = differences(old, filled(after.content))
            yield Told(
                at=after.at,
                by=after.by,
                why=after.why,
                changes=tuple(difference_words(old, each) for each in found),
            )
