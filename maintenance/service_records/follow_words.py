"""What follows from work, in sentences to be shown once after saving."""

from collections.abc import Iterator

from maintenance.plans.models import PlanItem
from maintenance.plans.rows import point_in_words
from maintenance.vehicles.models import Rig

from .following import WhatFollows, Window


def words_of(rig: Rig, follows: WhatFollows) -> tuple[list[str], list[str]]:
    """(warnings, what else follows), most urgent first."""
    warnings = [*_unfit(rig, follows), *map(_too_early, follows.early)]
    kept = [f"Kept, because it was changed since: {words}" for words in follows.kept]
    return warnings, [*map(_next, follows.opened), *_settled(follows), *kept]


def _unfit(rig: Rig, follows: WhatFollows) -> Iterator[str]:
    act = "tow" if rig.is_trailer else "drive"
    for one in follows.unfit:
        yield f"Don't {act} {rig} until this is fixed: {one.what}."


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


def _settled(follows: WhatFollows) -> Iterator[str]:
    names = ", ".join(_name(item) for item in follows.settled)
    if names:
        yield f"Not due anymore: {names}."


def _name(item: PlanItem) -> str:
    return item.title.rstrip(".")


def _ends(window: Window) -> tuple[str, str]:
    return tuple(  # type: ignore[return-value]
        point_in_words(end, window.unit) for end in (window.opens, window.closes)
    )


def _places(window: Window) -> str:
    return f" ({', '.join(window.places)})" if window.places else ""
