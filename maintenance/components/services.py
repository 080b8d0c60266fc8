"""Changing components and where they are. What hangs on plans is done by plans, which
calls these and ends with the standings renewed."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.core.calculators.tires import TireError, read_service, read_tin
from maintenance.core.facts import FactError
from maintenance.core.triggers import parse_triggers
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.vehicles.manuals import lock_rig
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import refuse_future

from .models import SPARE, AxleRating, Component, ComponentKind, Fitting, Mark

Values = Mapping[str, Decimal]


@transaction.atomic
def add_component(
    rig: Rig,
    *,
    by: Member,
    today: date,
    kind: str,
    on: date,
    values: Values | None = None,
    place: str = "",
    **fields: Any,
) -> Component:
    """A part that is on the rig since `on`, when its meters showed `values`."""
    require(by, Role.CREW)
    refuse_future(on, today)
    lock_rig(rig)
    made = Component(
        household=rig.household,
        rig=rig,
        kind=kind,
        place=place,
        entered_by=by,
        **fields,
    )
    _check(made, today)
    check_place(made, rig, place)
    made.save()
    _fit(made, rig, by, on, values)
    note_activity(by, "added component", f"{rig}: {made}")
    return made


@transaction.atomic
def change_component(
    component: Component, *, by: Member, today: date, **fields: Any
) -> Component:
    """What is known of it; where it is changes by moving it."""
    require(by, Role.CREW)
    for name, value in fields.items():
        setattr(component, name, value)
    _check(component, today)
    component.save()
    note_activity(by, "changed component", str(component))
    return component


@transaction.atomic
def move_component(
    component: Component,
    *,
    by: Member,
    today: date,
    rig: Rig,
    place: str,
    on: date,
    left_values: Values | None = None,
    values: Values | None = None,
) -> Component:
    """To a place on a rig of the household, from another or from being put aside.

    `left_values`: what the meters of the rig that it leaves showed; `values`: those of
    the rig that it comes to.
    """
    require(by, Role.CREW)
    if component.scrapped_on is not None:
        raise Refused("It was scrapped, so it can't be installed again.")
    if rig.household_id != component.household_id:
        raise Refused("That rig is not your household's.", field="rig")
    same_rig = component.rig_id == rig.pk
    if same_rig and place == component.place:
        raise Refused("It's already there.", field="place")
    lock_rig(rig)
    check_place(component, rig, place)
    _end_fitting(component, today, on, values if same_rig else left_values)
    component.rig, component.place = rig, place
    component.save(update_fields=["rig", "place"])
    _fit(component, rig, by, on, values)
    note_activity(by, "moved component", f"{component} to {rig}")
    return component


@transaction.atomic
def put_aside(
    component: Component,
    *,
    by: Member,
    today: date,
    on: date,
    values: Values | None = None,
    scrap: bool = False,
    why: str = "",
) -> Component:
    """Off its rig; scrapped for good, or kept to be fitted again."""
    require(by, Role.CREW)
    if scrap and not why.strip():
        raise Refused("Enter why it was scrapped.", field="why")
    if component.scrapped_on is not None:
        raise Refused("It was already scrapped.")
    refuse_future(on, today)
    rig = component.rig
    if rig is not None:
        _end_fitting(component, today, on, values)
    component.rig, component.place = None, ""
    if scrap:
        component.scrapped_on, component.why_scrapped = on, why.strip()
    component.save()
    what = "scrapped component" if scrap else "took component off"
    note_activity(by, what, f"{rig}: {component}" if rig else str(component))
    return component


@transaction.atomic
def change_places(
    rig: Rig,
    *,
    by: Member,
    today: date,
    on: date,
    places: Mapping[Component, str],
    values: Values | None = None,
) -> list[str]:
    """Rotate tires: each to its new place, all at once. Returns the places that a wheel
    left or came to, in the rig's order; the spare's is not among them."""
    require(by, Role.CREW)
    lock_rig(rig)
    moving = {one: to for one, to in places.items() if one.place != to}
    if not moving:
        raise Refused("No tire changes place. Choose a new place for at least one.")
    if any(one.rig_id != rig.pk or one.kind != "tire" for one in moving):
        raise Refused("That tire isn't on this rig.")
    _refuse_two_at_a_place(rig, moving)
    left = {one.place for one in moving}
    for one in moving:  # free the places first: no two tires are ever at one
        _end_fitting(one, today, on, values)
    Component.objects.filter(pk__in=[one.pk for one in moving]).update(place="")
    for one, to in moving.items():
        one.place = to
        one.save(update_fields=["place"])
        _fit(one, rig, by, on, values)
    note_activity(by, "rotated tires", f"{rig}: {len(moving)}")
    touched = left | set(moving.values())
    return [place for place in rig.places if place in touched]


def _refuse_two_at_a_place(rig: Rig, moving: Mapping[Component, str]) -> None:
    still = rig.components.filter(kind=ComponentKind.TIRE).exclude(
        pk__in=[one.pk for one in moving]
    )
    taken = [one.place for one in still if one.place]
    for to in moving.values():
        if to not in (*rig.places, SPARE):
            raise Refused(f"The rig has no wheel at “{to}”.")
        if to in taken:
            raise Refused(
                f"Two tires would be at {to}. Choose a different place for each.",
                field=f"at_{to}",
            )
        taken.append(to)


@transaction.atomic
def rate_axles(
    rig: Rig, *, by: Member, unit: str, ratings: Mapping[int, Decimal | None]
) -> list[AxleRating]:
    """The ratings on the placard (GAWR) by axle; None takes one away."""
    require(by, Role.KEEPER)
    rig.axle_ratings.all().delete()
    made = [
        AxleRating(rig=rig, axle=axle, rating=rating, unit=unit)
        for axle, rating in ratings.items()
        if rating is not None
    ]
    note_activity(by, "rated axles", rig.name)
    return AxleRating.objects.bulk_create(made)


# --- checks and rows ------------------------------------------------------------------


def check_place(component: Component, rig: Rig, place: str) -> None:
    """A tire is at a wheel of the rig or is its spare, and nobody else is there."""
    if component.kind != ComponentKind.TIRE or not place:
        return
    if place not in (*rig.places, SPARE):
        raise Refused(f"{rig} has no wheel there.", field="place")
    others = rig.components.filter(kind=ComponentKind.TIRE, place=place)
    other = others.exclude(pk=component.pk).first()
    if other is not None:
        raise Refused(
            f"{other} is there. Move it, take it off or scrap it first.",
            field="place",
        )


def _check(component: Component, today: date) -> None:
    if component.kind == ComponentKind.TIRE:
        _check_tire(component)
    for name in ("made", "tested", "recharged"):
        start = day_or_month(getattr(component, name), name)
        if start is not None:
            refuse_future(start, today, name)
    if component.kind == ComponentKind.CYLINDER:
        _check_mark(component)


def _check_tire(component: Component) -> None:
    """Its number is typed once; the day of making follows from it."""
    try:
        if component.serial:
            tin = read_tin(component.serial)
            component.serial = tin.text
            component.made = tin.date.counts_from.isoformat()
    except TireError as error:
        raise Refused(str(error), field="serial") from None
    try:
        if component.service:
            read_service(component.service)
    except TireError as error:
        raise Refused(str(error), field="service") from None


def _check_mark(component: Component) -> None:
    if component.mark != Mark.NEW and not component.tested:
        raise Refused("Enter the month of the last mark, like 2019-05.", field="tested")
    if component.made and component.tested and component.tested < component.made:
        raise Refused(
            "The mark is older than the cylinder. Check both dates.", field="tested"
        )


def day_or_month(text: str, field: str) -> date | None:
    """`2019-05` or `2019-05-12` as its first day; refused at `field` otherwise."""
    if not text:
        return None
    try:
        rule = parse_triggers([{"life": {"years": 1, "from": text}}], field)[0]
    except FactError:
        raise Refused(
            "Enter a month like 2019-05, or a day like 2019-05-12.",
            field=field,
        ) from None
    return rule.stated_day()


def _fit(
    component: Component, rig: Rig, by: Member, on: date, values: Values | None
) -> Fitting:
    return Fitting.objects.create(
        component=component,
        rig=rig,
        place=component.place,
        start=on,
        start_values=_kept(values),
        entered_by=by,
    )


def _end_fitting(
    component: Component, today: date, on: date, values: Values | None
) -> None:
    refuse_future(on, today)
    last = component.fittings.filter(withdrawn=False).order_by("start", "pk").last()
    if last is None:
        return
    if on < (last.end or last.start):
        raise Refused(
            (
                f"It was there until {(last.end or last.start).isoformat()} "
                "at least. Enter that day or a later one."
            ),
            field="on",
        )
    if last.end is None:
        last.end, last.end_values = on, _kept(values)
        last.save(update_fields=["end", "end_values"])


def _kept(values: Values | None) -> dict[str, str]:
    return {meter: str(value) for meter, value in (values or {}).items()}


def usual_mass_unit(household: Household) -> str:
    """Who counts miles weighs in pounds."""
    return "lb" if household.distance_unit == "mi" else "kg"
