"""Where a component was, corrected or withdrawn with a reason. A move ends one fitting
and begins the next: both days go together. What hangs on plans is done by plans."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_span_words, day_words
from maintenance.vehicles.events import refuse_stale
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import refuse_future
from maintenance.vehicles.state import refuse_after_sale

from .models import SPARE, Component, ComponentKind, Fitting
from .services import check_place


def fitting_words(fitting: Fitting) -> str:
    """What it says, whole: also to tell whether somebody changed it meanwhile."""
    where = f" ({fitting.place_words})" if fitting.place else ""
    days = (
        day_span_words(fitting.start, fitting.end)
        if fitting.end
        else f"from {day_words(fitting.start)}"
    )
    return f"{fitting.component.what} on {fitting.rig}{where} {days}"


@dataclass(frozen=True)
class _Chain:
    """A fitting between those before and after it. `came_from`, `went_to`: it was moved
    there and from there on one day, without being put aside."""

    fitting: Fitting
    before: Fitting | None
    after: Fitting | None

    @property
    def came_from(self) -> Fitting | None:
        joined = self.before is not None and self.before.end == self.fitting.start
        return self.before if joined else None

    @property
    def is_change_of_place(self) -> bool:
        """Whether it was moved about on one rig."""
        came = self.came_from
        return came is not None and came.rig_id == self.fitting.rig_id

    @property
    def went_to(self) -> Fitting | None:
        joined = self.after is not None and self.after.start == self.fitting.end
        return self.after if joined else None


def _locked(fitting: Fitting) -> _Chain:
    Component.objects.select_for_update().get(pk=fitting.component_id)
    rows = Fitting.objects.filter(component=fitting.component_id, withdrawn=False)
    chain = list(rows.select_related("component", "rig").order_by("start", "pk"))
    at = next((n for n, one in enumerate(chain) if one.pk == fitting.pk), None)
    if at is None:
        raise Refused("This was voided, so it can't be changed.")
    after = chain[at + 1] if at + 1 < len(chain) else None
    return _Chain(chain[at], chain[at - 1] if at else None, after)


def moved_on(fitting: Fitting) -> bool:
    """Whether its last day is that of a move, which is corrected with the next one."""
    return _locked(fitting).went_to is not None


def rotated_along(fitting: Fitting) -> list[Fitting]:
    """The other tires that changed places with it on that day: they did so together."""
    return [one.fitting for one in _rotated_along(_locked(fitting))]


def _rotated_along(chain: _Chain) -> list[_Chain]:
    row = chain.fitting
    if row.component.kind != ComponentKind.TIRE or not chain.is_change_of_place:
        return []
    others = Fitting.objects.filter(
        rig=row.rig_id,
        start=row.start,
        withdrawn=False,
        component__kind=ComponentKind.TIRE,
    )
    found = (_locked(one) for one in others.exclude(component=row.component_id))
    return [one for one in found if one.is_change_of_place]


@transaction.atomic
def correct_fitting(
    fitting: Fitting,
    *,
    by: Member,
    today: date,
    why: str,
    seen: str,
    rig: Rig,
    place: str,
    start: date,
    end: date | None,
) -> Fitting:
    """Say otherwise on which rig it was, where and when; tires that were rotated with
    it were so on its day. What meters showed on a day that changes is told by the
    readings. Sent twice, it changes nothing the second time."""
    require(by, Role.CREW)
    chain = _locked(fitting)
    row, component = chain.fitting, chain.fitting.component
    if rig.household_id != component.household_id:
        raise Refused("That rig is not your household's.", field="rig")
    before, along = fitting_words(row), _rotated_along(chain)
    was, came_from = (row.rig_id, row.start, row.end), chain.came_from
    row.rig, row.place = rig, place
    row.end = row.end if chain.went_to else end
    _begin(chain, came_from, start)
    after = fitting_words(row)
    if after == before:
        return row
    refuse_stale(seen, before, after)
    _check_days(chain, came_from, today)
    if row.end is None:
        check_place(component, rig, place)
    _forget_values(row, was)
    for other in along if start != was[1] else ():
        _rotate_on(other, start, today)
    _keep(chain)
    about = f"{rig}: {before} → {after} ({why.strip()})"
    note_activity(by, "corrected installation", about)
    return row


def _keep(chain: _Chain) -> None:
    """The last of its fittings says where a component is."""
    row = chain.fitting
    row.save()
    _refuse_two_tires(row)
    if chain.after is None:
        _put(row.component, row if row.end is None else None)


def _forget_values(row: Fitting, was: tuple[int, date, date | None]) -> None:
    """What meters showed on another day, or on another rig."""
    if (row.rig_id, row.start) != was[:2]:
        row.start_values = {}
    if (row.rig_id, row.end) != (was[0], was[2]):
        row.end_values = {}


def _rotate_on(chain: _Chain, start: date, today: date) -> None:
    came_from = chain.came_from
    _begin(chain, came_from, start)
    _check_days(chain, came_from, today)
    chain.fitting.start_values = {}
    chain.fitting.save()


def _begin(chain: _Chain, came_from: Fitting | None, start: date) -> None:
    """It came on that day, and so left where it came from."""
    row = chain.fitting
    if came_from is not None and row.start != start:
        came_from.end, came_from.end_values = start, {}
        if start >= came_from.start:
            came_from.save(update_fields=["end", "end_values"])
    row.start = start


def _check_days(chain: _Chain, came_from: Fitting | None, today: date) -> None:
    row, before, after = chain.fitting, chain.before, chain.after
    refuse_future(row.start, today, "start")
    refuse_after_sale(row.rig, row.start, "start")
    if before is not None:
        first = before.end if came_from is None else before.start
        if first is not None and row.start < first:
            raise Refused(
                f"It was on {before.rig} until at least {day_words(first)}. "
                "Enter that day or a later one.",
                field="start",
            )
    if row.end is None:
        if after is not None:
            raise Refused(
                f"It was on {after.rig} from {day_words(after.start)}. Enter "
                "the day it came off.",
                field="end",
            )
        return
    refuse_future(row.end, today, "end")
    if row.end < row.start:
        moved = "start" if chain.went_to else "end"
        raise Refused(
            "The day off is before the day on. Enter a later one.", field=moved
        )
    if after is not None and row.end > after.start:
        raise Refused(
            f"It was on {after.rig} from {day_words(after.start)}. Enter that day or "
            "an earlier one.",
            field="end",
        )


def _refuse_two_tires(row: Fitting) -> None:
    """At a wheel was one tire on any day."""
    if row.component.kind != ComponentKind.TIRE or not row.place:
        return
    if row.place not in (*row.rig.places, SPARE):
        raise Refused(f"{row.rig} has no wheel there.", field="place")
    others = Fitting.objects.filter(
        rig=row.rig, place=row.place, withdrawn=False
    ).exclude(component=row.component_id)
    for other in others.select_related("component", "rig"):
        begins = row.end is None or other.start < row.end
        if begins and (other.end is None or row.start < other.end):
            raise Refused(
                f"Two tires would be there: {fitting_words(other)}. Correct that one "
                "first, or choose other days.",
                field="place",
            )


@transaction.atomic
def withdraw_fitting(fitting: Fitting, *, by: Member, today: date, why: str) -> Fitting:
    """It never was there: it stayed where it came from, and so did the tires that were
    rotated with it. Sent twice, it is withdrawn once."""
    require(by, Role.CREW)
    fitting.refresh_from_db()
    if fitting.withdrawn:
        return fitting
    if not why.strip():
        raise Refused("Enter why you're voiding it.", field="why")
    chain = _locked(fitting)
    words = fitting_words(chain.fitting)
    every = [chain, *_rotated_along(chain)]
    stays = [one.came_from for one in every]
    ids = [one.fitting.pk for one in every]
    Fitting.objects.filter(pk__in=ids).update(withdrawn=True)
    # Free the places first: no two tires are ever at one.
    now = [one.fitting.component_id for one in every if one.after is None]
    Component.objects.filter(pk__in=now).update(place="")
    for one in every:
        _stay_where_it_was(one)
    for back in filter(None, stays):
        _refuse_two_tires(back)
    rig = chain.fitting.rig
    note_activity(by, "withdrew installation", f"{rig}: {words} ({why.strip()})")
    fitting.refresh_from_db()
    return fitting


def _stay_where_it_was(chain: _Chain) -> None:
    row, stays = chain.fitting, chain.came_from
    if stays is not None:
        # On another rig, what that one's meters showed then is not known.
        values = row.end_values if stays.rig_id == row.rig_id else {}
        stays.end, stays.end_values = row.end, values
        stays.save(update_fields=["end", "end_values"])
    if chain.after is not None or row.component.scrapped_on is not None:
        return
    there = stays if stays is not None and stays.end is None else None
    if there is not None:
        check_place(row.component, there.rig, there.place)
    _put(row.component, there)


def _put(component: Component, there: Fitting | None) -> None:
    """Where it is now. One that is on a rig after all was not scrapped."""
    component.rig = there.rig if there else None
    component.place = there.place if there else ""
    if there is not None:
        component.scrapped_on, component.why_scrapped = None, ""
    component.save(update_fields=["rig", "place", "scrapped_on", "why_scrapped"])
