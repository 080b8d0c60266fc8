"""What follows from work, in sentences: before it is saved and after."""

from collections.abc import Iterator
from dataclasses import dataclass

from maintenance.plans.models import PlanItem
from maintenance.plans.rows import point_in_words
from maintenance.vehicles.models import Rig

from .following import WhatFollows, Window


@dataclass(frozen=True, slots=True)
class FollowLine:
    """A sentence, the mark that stands before it, and whether it warns."""

    mark: str
    words: str
    warns: bool = False


def lines_of(rig: Rig, follows: WhatFollows) -> list[FollowLine]:
    """Most urgent first."""
    return [*_unfit(rig, follows), *_early(follows), *_rest(follows)]


def words_of(rig: Rig, follows: WhatFollows) -> tuple[list[str], list[str]]:
    """(warnings, what else follows), most urgent first."""
    lines = lines_of(rig, follows)
    return (
        [line.words for line in lines if line.warns],
        [line.words for line in lines if not line.warns],
    )


def _unfit(rig: Rig, follows: WhatFollows) -> Iterator[FollowLine]:
    act = "tow" if rig.is_trailer else "drive"
    for one in follows.unfit:
        words = f"Don't {act} {rig} until this is fixed: {one.what}."
        yield FollowLine("unfit", words, warns=True)


def _early(follows: WhatFollows) -> Iterator[FollowLine]:
    for one in follows.early:
        yield FollowLine("due", _too_early(one), warns=True)


def _rest(follows: WhatFollows) -> Iterator[FollowLine]:
    for one in follows.opened:
        yield FollowLine("safety" if one.item.safety else "coming", _next(one))
    if follows.settled:
        names = ", ".join(_name(item) for item in follows.settled)
        yield FollowLine("settled", f"Not due anymore: {names}.")
    for words in follows.kept:
        yield FollowLine("waiting", f"Kept, because it has changed since: {words}")


def _too_early(window: Window) -> str:
    opens, closes = _ends(window)
    if not window.has_figure:
        meter = "mileage" if window.unit != "h" else "hours"
        return (
            f"{_name(window.item)}: kept, but it doesn't count without the {meter}. "
            f"Correct the record to add it; a check counts from {opens} on."
        )
    return (
        f"{_name(window.item)}: kept, but too early to count. "
        f"Check again between {opens} and {closes}{_places(window)}."
    )


def _next(window: Window) -> str:
    opens, closes = _ends(window)
    return (
        f"Next: {_name(window.item)} between {opens} and {closes}{_places(window)}. "
        "We'll remind you."
    )


def _name(item: PlanItem) -> str:
    return item.title.rstrip(".")


def _ends(window: Window) -> tuple[str, str]:
    return tuple(  # type: ignore[return-value]
        point_in_words(end, window.unit) for end in (window.opens, window.closes)
    )


def _places(window: Window) -> str:
    return f" ({', '.join(window.places)})" if window.places else ""
