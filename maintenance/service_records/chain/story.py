"""What was amended on a record: each change as it was, as it is, and why."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from maintenance.core.chain import differences

from ..models import ChainLink, LinkKind
from .content import is_cut_moment, is_legible
from .lifting import lifted, without_later_names
from .words import difference_words


@dataclass(frozen=True, slots=True)
class StoryLine:
    """One amendment of a record; `changes` are sentences without their full stop."""

    at: datetime
    by: str
    why: str
    changes: tuple[str, ...]


def amendments(links: Iterable[ChainLink]) -> list[StoryLine]:
    """From the links of one record, in the order of the chain."""
    legible = filter(is_legible, links)
    return list(_told(sorted(legible, key=lambda link: link.position)))


def _told(links: list[ChainLink]) -> Iterator[StoryLine]:
    for before, after in pairwise(links):
        if after.kind in {LinkKind.AMENDED, LinkKind.MERGED}:
            yield StoryLine(
                at=after.at, by=after.by, why=after.why, changes=_changes(before, after)
            )


def _changes(before: ChainLink, after: ChainLink) -> tuple[str, ...]:
    version = max(before.version, after.version)
    old = lifted(before.content, before.version, version)
    new = without_later_names(lifted(after.content, after.version, version), old)
    return tuple(
        difference_words(old, each, version)
        for each in differences(old, new)
        if not is_cut_moment(each)
    )
