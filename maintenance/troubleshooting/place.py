"""Where somebody stands in a guide: its address says all, so that it can be shared."""

from dataclasses import dataclass, replace
from functools import cached_property
from urllib.parse import urlencode

from django.http import Http404
from django.urls import reverse

from maintenance.core.trouble import (
    NOT_CURED,
    NOT_KNOWN,
    Ending,
    Question,
    TroubleError,
    Walk,
    walk,
)
from maintenance.households.access import HouseholdRequest, row_id
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig

from .reading import load_trees


@dataclass(frozen=True)
class Choice:
    """A big answer: its words and where it leads."""

    words: str
    url: str
    known: bool = False  # the rig's records give this answer


@dataclass(frozen=True)
class Place:
    """A guide, the answers so far, and the rig if one was chosen."""

    key: str
    path: tuple[str, ...] = ()
    rig: Rig | None = None

    def __post_init__(self) -> None:
        if self.key not in load_trees():
            raise Http404

    @cached_property
    def walk(self) -> Walk:
        """Raises TroubleError where the path does not fit."""
        return walk(load_trees(), self.key, self.path, self.equipment)

    @property
    def equipment(self) -> list[str] | None:
        """None where nobody has said yet what the rig has."""
        return self.rig.equipment or None if self.rig else None

    def after(self, answer: str) -> "Place":
        return replace(self, path=(*self.path, answer))

    def back_to(self, steps: int) -> "Place":
        return replace(self, path=self.path[:steps])

    @property
    def url(self) -> str:
        return self._url("guide")

    @property
    def sheet_url(self) -> str:
        return self._url("trouble_sheet")

    @property
    def told_url(self) -> str:
        return self._url("tell_cause")

    def _url(self, name: str) -> str:
        query = {"rig": str(self.rig.pk)} if self.rig else {}
        query |= {"path": ",".join(self.path)} if self.path else {}
        base = reverse(name, args=[self.key])
        return f"{base}?{urlencode(query, safe=',')}" if query else base

    @property
    def back(self) -> str:
        """The step before; the list of guides before the first."""
        return self.back_to(len(self.path) - 1).url if self.path else reverse("trouble")

    @property
    def so_far(self) -> list[tuple[str, str, str]]:
        """What was asked, what was answered, and the way back to it."""
        rows = []
        for n, taken in enumerate(self.walk.taken):
            step = taken.step
            asked = step.ask if isinstance(step, Question) else step.cause
            rows.append((asked, taken.answer, self.back_to(n).url))
        return rows

    def choices(self, known: str = "") -> list[Choice]:
        return [
            Choice(answer.words, self.after(answer.key).url, answer.key == known)
            for answer in self.walk.answers
        ]

    @property
    def unknown_url(self) -> str:
        now = self.walk.now
        has = isinstance(now, Question) and now.unknown is not None
        return self.after(NOT_KNOWN).url if has else ""

    @property
    def not_cured_url(self) -> str:
        now = self.walk.now
        goes_on = isinstance(now, Ending) and now.not_cured is not None
        return self.after(NOT_CURED).url if goes_on else ""


class StalePathError(Http404):
    """The answers in an address do not fit the guide as it is today."""

    def __init__(self, begin: Place) -> None:
        super().__init__()
        self.begin = begin


def place_in(request: HouseholdRequest, key: str) -> Place:
    """The place that an address names; 404 for what was never an address of ours."""
    asked = request.GET.get("path", "")
    pk = row_id(request.GET.get("rig", ""))
    rig = get_rig(request, pk) if pk is not None else None
    place = Place(key, tuple(part for part in asked.split(",") if part), rig)
    try:
        _ = place.walk
    except TroubleError:
        raise StalePathError(place.back_to(0)) from None
    return place
