"""The wheel plan: a tile for each set of nuts, with what was found there."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.forms import BoundField

from maintenance.vehicles.models import DUAL_PLACES, WHEEL_PLACES, DualNuts, Rig

from .forms.work_sheet import MOVED, WorkSheetForm, lead_of, nut_places
from .sheet_view import PlaceRow


@dataclass(frozen=True, slots=True)
class NutSet:
    """Duals centered on the hub have one set of nuts a side, which holds both wheels.
    `side` is where its tile stands; `answer` is empty, or held, or moved."""

    name: str
    wheels: str
    side: str
    rows: tuple[PlaceRow, ...]
    moved: BoundField | None
    answer: str


def nut_sets(rows: Iterable[PlaceRow]) -> list[NutSet]:
    """In the order of the places; none for work that asks for no nuts."""
    found: dict[str, list[PlaceRow]] = {}
    for row in rows:
        if row.moved is not None:
            found.setdefault(lead_of(row.place), []).append(row)
    return [_nut_set(place, of) for place, of in found.items()]


def _nut_set(place: str, rows: Sequence[PlaceRow]) -> NutSet:
    lead = next((row for row in rows if row.place == place), rows[0])
    return NutSet(
        name=set_name(place),
        wheels="both wheels" if len(rows) > 1 else "one wheel",
        side="left" if place.startswith("L") else "right",
        rows=tuple(rows),
        moved=lead.moved,
        answer=str((lead.moved and lead.moved.value()) or ""),
    )


def set_name(place: str) -> str:
    """“Left rear”, without which of the two wheels."""
    words = WHEEL_PLACES[place].replace(" outer", "").replace(" inner", "")
    return words[:1].upper() + words[1:]


def duals_left(rows: Iterable[PlaceRow], rig: Rig) -> str:
    """Why the nuts of dual wheels among the rows are not asked of: how many there are
    on a stud is not known (“ask”), or they are a shop's (“shop”). Empty: they are."""
    if rig.dual_nuts == DualNuts.ONE or DUAL_PLACES.isdisjoint(x.place for x in rows):
        return ""
    return "shop" if rig.dual_nuts == DualNuts.TWO else "ask"


def refuse_unchecked(form: WorkSheetForm, sets: Iterable[NutSet], duals: str) -> None:
    """An error at each set that was not checked, and where it is not known whether the
    owner may check it."""
    for one in sets:
        if one.moved is not None and not one.answer:
            words = f"{one.name}, {one.wheels}: tap Held or Moved."
            form.add_error(one.moved.name, words)
    if duals == "ask":
        form.add_error(None, "First choose how many nuts each dual-wheel stud has.")


def nuts_words(rig: Rig, kept: Mapping[str, str]) -> str:
    """“2 of 4 checked. Next: left rear.”; empty for work without nuts."""
    leads = list(dict.fromkeys(map(lead_of, nut_places(rig))))
    if not leads:
        return ""
    left = [place for place in leads if MOVED + place not in kept]
    said = f"{len(leads) - len(left)} of {len(leads)} checked."
    return f"{said} Next: {set_name(left[0]).lower()}." if left else said
