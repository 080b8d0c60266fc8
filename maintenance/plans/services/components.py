"""Components with their items: an item of a part follows it, with what it has used."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.components import correcting
from maintenance.components import services as components
from maintenance.components.models import Component, Fitting
from maintenance.core.triggers.events import WHEEL_OFF
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.component_rules import apply_part
from maintenance.plans.models import PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.plans.receivers import renew_rigs
from maintenance.vehicles.models import HOUR_METERS, MeterKind, Rig
from maintenance.vehicles.services import report_event

from .items import columns_of, meters_of
from .titles import part_title

Values = Mapping[str, Decimal]
SCRAPPED = "scrapped: "  # before the reason for which an item is off the plan


def _renew(rigs: Iterable[Rig | None], today: date) -> None:
    kept = {rig for rig in rigs if rig is not None}
    for rig in list(kept)[:1]:
        renew_rigs(rig.household, [one.pk for one in kept], as_of=today)


@transaction.atomic
def add_part(
    rig: Rig, *, by: Member, today: date, keys: Iterable[str] = (), **fields: Any
) -> Component:
    """A component with the items of these keys. An item of the rig that no part has yet
    becomes the part's, with its history, so that nothing is asked for twice."""
    made = components.add_component(rig, by=by, today=today, **fields)
    attach_items(made, today=today, keys=keys)
    _renew([rig], today)
    return made


def attach_items(component: Component, *, today: date, keys: Iterable[str]) -> None:
    """The caller holds the transaction and renews."""
    rig = component.rig
    if rig is None:
        raise Refused("It isn't on a rig. Install it on one first.")
    known, meters = procedures_of(rig.household), meters_of(rig)
    has = set(component.plan_items.values_list("key", flat=True))
    for key in keys:
        if key in has or key not in known:
            continue
        item = PlanItem.objects.filter(
            rig=rig, key=key, component=None, dropped_on=None
        ).first()
        if item is None:
            columns = columns_of(known[key], meters)
            item = PlanItem(rig=rig, taken_on=today, **columns)
        item.component = component
        _bring_in_line(item, component, known[key].title)


def _bring_in_line(item: PlanItem, component: Component, title: str) -> None:
    item.title = part_title(title, component)
    apply_part(item, component)
    item.save()


def _bring_all_in_line(component: Component) -> None:
    known = procedures_of(component.household)
    for item in component.plan_items.filter(dropped_on=None):
        title = known[item.key].title if item.key in known else item.title
        _bring_in_line(item, component, title)


@transaction.atomic
def change_part(
    component: Component,
    *,
    by: Member,
    today: date,
    keys: Iterable[str] = (),
    **fields: Any,
) -> Component:
    """What is known of a part; its items count by its dates from then on."""
    components.change_component(component, by=by, today=today, **fields)
    _bring_all_in_line(component)
    if component.rig is not None:
        attach_items(component, today=today, keys=keys)
    _renew([component.rig], today)
    return component


@transaction.atomic
def move_part(
    component: Component,
    *,
    by: Member,
    today: date,
    rig: Rig,
    wheels_off: bool = False,
    **fields: Any,
) -> Component:
    """To another place or rig; its items go along and count on. `wheels_off`: for it a
    wheel was off where it left and where it came to, which raises their re-checks."""
    before, left = component.rig, component.place
    components.move_component(component, by=by, today=today, rig=rig, **fields)
    if wheels_off:
        _wheels_were_off(component, before, left, by=by, today=today, **fields)
    _take_along(component, before)
    _renew([before, rig], today)
    return component


def _take_along(component: Component, before: Rig | None) -> None:
    """Its items go to the rig that it is on, and count by that one's meters."""
    rig = component.rig
    if rig is not None:
        meters = meters_of(rig)
        for item in component.plan_items.filter(dropped_on=None):
            item.rig = rig
            item.triggers = [
                _on_meters(rule, meters, item, rig) for rule in item.triggers
            ]
            item.save(update_fields=["rig", "triggers"])
            if before is not None and before != rig:
                item.deferrals.filter(ended=False).update(ended=True)
    _bring_all_in_line(component)


@transaction.atomic
def correct_fitting(
    fitting: Fitting, *, by: Member, today: date, **fields: Any
) -> Fitting:
    """Say otherwise where a part was; its items follow to where it is after all."""
    with _following(fitting.component, fitting.rig, today):
        return correcting.correct_fitting(fitting, by=by, today=today, **fields)


@transaction.atomic
def withdraw_fitting(fitting: Fitting, *, by: Member, today: date, why: str) -> Fitting:
    with _following(fitting.component, fitting.rig, today):
        return correcting.withdraw_fitting(fitting, by=by, today=today, why=why)


@contextmanager
def _following(component: Component, was_on: Rig, today: date) -> Iterator[None]:
    """Its items go along with a change of where it is, and every rig that it was on is
    reckoned: what it has used is told by their meters."""
    before, scrapped = component.rig, component.scrapped_on is not None
    yield
    component.refresh_from_db()
    if scrapped and component.scrapped_on is None:
        component.plan_items.filter(why_dropped__startswith=SCRAPPED).update(
            dropped_on=None, why_dropped=""
        )
    _take_along(component, before)
    for tire in was_on.components.filter(kind="tire"):  # those rotated with it
        _bring_all_in_line(tire)
    rows = component.fittings.filter(withdrawn=False).select_related("rig")
    _renew([before, was_on, component.rig, *(row.rig for row in rows)], today)


def _wheels_were_off(
    tire: Component,
    before: Rig | None,
    left: str,
    *,
    by: Member,
    today: date,
    on: date,
    values: Values | None = None,
    left_values: Values | None = None,
    **_place: Any,
) -> None:
    """On one rig one event, on two rigs one each, at the wheels that were touched."""
    same = before == tire.rig
    sides = [(tire.rig, {tire.place, left} if same else {tire.place}, values)]
    if not same:
        sides.append((before, {left}, left_values))
    for rig, places, shown in sides:
        wheels = places & set(rig.places) if rig is not None else set()
        if rig is not None and wheels:
            report_event(
                rig,
                by=by,
                today=today,
                kind=WHEEL_OFF,
                on=on,
                values=shown,
                places=wheels,
                note=f"Tire moved: {tire}"[:200],
            )


def _on_meters(
    rule: Mapping[str, Any], meters: Mapping[str, str], item: PlanItem, rig: Rig
) -> dict[str, Any]:
    """The rule on the meters of another rig: any that counts distance will do."""
    return {name: _on_meter(body, meters, item, rig) for name, body in rule.items()}


def _on_meter(body: Any, meters: Mapping[str, str], item: PlanItem, rig: Rig) -> Any:
    if not isinstance(body, Mapping) or body.get("meter", "") in {"", *meters}:
        return body
    wanted = body["meter"]
    other = next((kind for kind, unit in meters.items() if unit != "h"), None)
    if wanted in HOUR_METERS or other is None:
        what = "distance" if wanted not in HOUR_METERS else MeterKind(wanted).label
        raise Refused(
            (
                f"“{item}” counts by {str(what).lower()}, and {rig} has no meter for "
                "that. Add the meter first, or change the rule."
            ),
            field="rig",
        )
    return {**body, "meter": other}


@transaction.atomic
def put_part_aside(
    component: Component,
    *,
    by: Member,
    today: date,
    on: date,
    values: Values | None = None,
    scrap: bool = False,
    why: str = "",
) -> Component:
    """Its items are silent while it is on no rig; scrapped, they are off the plan."""
    before = component.rig
    components.put_aside(
        component, by=by, today=today, on=on, values=values, scrap=scrap, why=why
    )
    if scrap:
        reason = f"{SCRAPPED}{why}"
        component.plan_items.filter(dropped_on=None).update(
            dropped_on=today, why_dropped=reason[:200]
        )
    _renew([before], today)
    return component


@transaction.atomic
def rotate_tires(
    rig: Rig, *, by: Member, today: date, wheels_off: bool = False, **fields: Any
) -> list[str]:
    """Tires to their new places at once; returns the wheels touched. `wheels_off`: they
    were off, which raises their re-check."""
    touched = components.change_places(rig, by=by, today=today, **fields)
    if wheels_off and touched:
        report_event(
            rig,
            by=by,
            today=today,
            kind=WHEEL_OFF,
            on=fields["on"],
            values=fields.get("values"),
            places=touched,
            note="Tires rotated",
        )
    for tire in rig.components.filter(kind="tire"):
        _bring_all_in_line(tire)
    _renew([rig], today)
    return touched
