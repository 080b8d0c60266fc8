"""A rig's parts, one part, its tires on the wheel plan, and its axles."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from maintenance.components.access import get_component, get_fitting
from maintenance.components.axles import axles_of, check_axles, service_words
from maintenance.components.correcting import fitting_words, rotated_along
from maintenance.components.models import TYPES, Component, ComponentKind, Fitting
from maintenance.components.queries import components_on, fittings_of, pasts_of
from maintenance.components.services import rate_axles, usual_mass_unit
from maintenance.core.words import counted
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.library.reading import load_library
from maintenance.plans import services
from maintenance.plans.component_rules import (
    is_usual,
    procedures_for,
    procedures_of_kind,
)
from maintenance.plans.life_list import life_row, limits_of
from maintenance.plans.models import PlanItem
from maintenance.service_records.following import follow_up, standings_before
from maintenance.service_records.saying import tell_what_follows
from maintenance.ui.forms import WhyForm
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import rigs_of

from .drawing import wheel_plan
from .forms import (
    LEFT,
    AsideForm,
    AxlesForm,
    CorrectFittingForm,
    MoveForm,
    NewPartForm,
    PartForm,
    RotationForm,
)
from .page import changes_of_fittings, parts_page
from .treads import treads_of

NOW_RECORD = "Saved. Now record the work, with who did it and the torque figure."


@member_required()
def parts(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    context = {
        "rig": rig,
        "page": parts_page(rig, request.today),
        "kinds": ComponentKind.choices,
    }
    return render(request, "pages/parts/parts.html", context)


@member_required()
def part(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_component(request, pk)
    fittings = fittings_of([pk])
    past = pasts_of(fittings, request.today).get(pk)
    context = {
        "part": found,
        "row": life_row(found, past, limits_of(found, request.today), request.today),
        "fittings": fittings[pk][::-1],
        "changes": changes_of_fittings(found),
        "type": TYPES.get(found.kind, {}).get(found.type, ""),
        "carries": service_words(found.service) if found.service else "",
        "rigs": rigs_of(found.household),
    }
    return render(request, "pages/parts/part.html", context)


@member_required(Role.CREW)
def add_part(request: HouseholdRequest, pk: int, kind: str) -> HttpResponse:
    rig = get_rig(request, pk)
    if kind not in ComponentKind.values:
        raise Http404
    offered = procedures_of_kind(kind)
    usual = [one.key for one in offered if is_usual(one)]
    form = NewPartForm(
        request.POST or None,
        kind=kind,
        rig=rig,
        items=[(one.key, one.title) for one in offered],
        initial={"on": request.today, "keys": usual},
    )

    def save(**data: Any) -> Component:
        fitting = {one.key for one in procedures_for(kind, data.get("type", ""))}
        keys = [key for key in data["keys"] if key in fitting]
        return services.add_part(
            rig,
            by=request.member,
            today=request.today,
            kind=kind,
            keys=keys,
            place=data["place"],
            on=data["on"],
            values=form.values(request.today)[""],
            **form.part(),
        )

    return form_page(
        request,
        form,
        heading=f"Add to {rig}: {ComponentKind(kind).label.lower()}",
        back=reverse("parts", args=[pk]),
        save=save,
        done=lambda made: f"Saved: {made}.",
        go_on=lambda made: reverse("part", args=[made.pk]),
    )


@member_required(Role.CREW)
def change_part(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_component(request, pk)

    def form_of(one: Component, data: Any = None) -> PartForm:
        said = {field.name: getattr(one, field.name) for field in one._meta.fields}
        return PartForm(data, kind=found.kind, initial=said)

    form = form_of(found, request.POST or None)
    return form_page(
        request,
        form,
        changes=found,
        now=lambda: form_of(get_component(request, pk)),
        heading=f"Change: {found}",
        back=reverse("part", args=[pk]),
        save=lambda **_data: services.change_part(
            found, by=request.member, today=request.today, **form.part()
        ),
    )


@member_required(Role.CREW)
def move_part(request: HouseholdRequest, pk: int, rig_pk: int) -> HttpResponse:
    found, rig = get_component(request, pk), get_rig(request, rig_pk)
    form = MoveForm(
        request.POST or None, component=found, rig=rig, initial={"on": request.today}
    )

    def save(
        place: str, on: date, *, wheels_off: bool = False, **_data: Any
    ) -> Component:
        values = form.values(request.today)
        with _telling(request, {rig, found.rig or rig}):
            return services.move_part(
                found,
                by=request.member,
                today=request.today,
                rig=rig,
                wheels_off=wheels_off,
                place=place,
                on=on,
                left_values=values[LEFT],
                values=values[""],
            )

    return form_page(
        request,
        form,
        heading=f"Put on {rig}: {found}",
        intro="Its jobs move with it, and its past use still counts.",
        back=reverse("part", args=[pk]),
        save=save,
    )


@member_required(Role.CREW)
def put_part_aside(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_component(request, pk)
    form = AsideForm(request.POST or None, rig=found.rig, initial={"on": request.today})
    return form_page(
        request,
        form,
        heading=f"Remove: {found}",
        intro="No reminders for it until it's on a rig again.",
        back=reverse("part", args=[pk]),
        save=lambda on, scrap, why, **_data: services.put_part_aside(
            found,
            by=request.member,
            today=request.today,
            on=on,
            scrap=scrap,
            why=why,
            values=form.values(request.today)[""],
        ),
    )


@member_required(Role.CREW)
def correct_fitting(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_fitting(request, pk)

    def save(rig: Rig, end: date | None = None, **data: Any) -> Fitting:
        with _telling(request, {found.rig, rig}):
            return services.correct_fitting(
                found, by=request.member, today=request.today, rig=rig, end=end, **data
            )

    return form_page(
        request,
        CorrectFittingForm(request.POST or None, fitting=found),
        heading="Correct: installation",
        intro=(
            f"{fitting_words(found)}. If you change a day, its meter values come "
            "from the readings."
        ),
        back=reverse("part", args=[found.component_id]),
        save=save,
        done=lambda row: f"Corrected. It now says: {fitting_words(row)}.",
    )


@member_required(Role.CREW)
def withdraw_fitting(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_fitting(request, pk)

    def save(why: str) -> Fitting:
        with _telling(request, {found.rig}):
            return services.withdraw_fitting(
                found, by=request.member, today=request.today, why=why
            )

    tire = found.component.kind == ComponentKind.TIRE
    wheels = "The event “Wheel off” on that day stays: withdraw it separately."
    along = len(rotated_along(found))
    if along:
        wheels = (
            f"{counted(along, 'other tire')} rotated with it that day move back too. "
            f"{wheels}"
        )
    return form_page(
        request,
        WhyForm(request.POST or None),
        heading="Withdraw: installation",
        intro=(
            f"{fitting_words(found)}. It stays on record but no longer counts. A part "
            f"moved there goes back where it came from. {wheels if tire else ''}"
        ),
        submit="Withdraw",
        back=reverse("part", args=[found.component_id]),
        save=save,
        done="Withdrawn. It no longer counts.",
    )


# --- tires ----------------------------------------------------------------------------


def _tires(rig: Rig) -> list[Component]:
    """In the order of the rig's places, the spare last."""
    order = {place: n for n, place in enumerate(rig.places)}
    found = components_on(rig).filter(kind=ComponentKind.TIRE)
    return sorted(found, key=lambda one: order.get(one.place, len(order)))


@member_required()
def tires(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    found = _tires(rig)
    context = {
        "rig": rig,
        "plan": wheel_plan(rig, found, request.today, treads_of(rig, found)),
        "checks": check_axles(rig, found),
    }
    return render(request, "pages/parts/tires.html", context)


@member_required(Role.CREW)
def rotate_tires(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Tires to new places in one action. Wheels that were off raise their re-check at
    once, and the work is then recorded."""
    rig = get_rig(request, pk)
    found = _tires(rig)
    form = RotationForm(
        request.POST or None, rig=rig, tires=found, initial={"on": request.today}
    )

    def save(on: date, *, wheels_off: bool, **_data: Any) -> Any:
        with _telling(request, {rig}):
            return services.rotate_tires(
                rig,
                by=request.member,
                today=request.today,
                on=on,
                places=form.places(),
                values=form.values(request.today)[""],
                wheels_off=wheels_off,
            )

    def go_on(touched: Any) -> str:
        if form.cleaned_data["wheels_off"]:
            return _record_url(rig, touched, form)
        return reverse("tires", args=[pk])

    return form_page(
        request,
        form,
        heading=f"Rotate tires of {rig}",
        back=reverse("tires", args=[pk]),
        save=save,
        done=lambda _made: NOW_RECORD if form.cleaned_data["wheels_off"] else "Saved.",
        go_on=go_on,
        template="pages/parts/rotate.html",
        rig=rig,
        plan=wheel_plan(rig, found, request.today),
    )


@contextmanager
def _telling(request: HouseholdRequest, rigs: Iterable[Rig]) -> Iterator[None]:
    """What a change brings on at these rigs is told on the next page."""
    before = [(rig, standings_before(rig)) for rig in rigs]
    yield
    for rig, was in before:
        tell_what_follows(request, rig, follow_up(rig, today=request.today, before=was))


def _record_url(rig: Rig, touched: Any, form: RotationForm) -> str:
    """The record form, with the wheels that were off and the day filled in."""
    data = form.cleaned_data
    places = touched if isinstance(touched, list) else []
    item = PlanItem.objects.active().filter(rig=rig, key__in=_rotating()).first()
    given = {"off": ",".join(places), "on": data["on"].isoformat()}
    given |= {"item": str(item.pk)} if item else {"title": "Tires rotated"}
    given |= {name: str(data[name]) for name in form.meters if data[name] is not None}
    return f"{reverse('record_work', args=[rig.pk])}?{urlencode(given)}"


def _rotating() -> list[str]:
    every = load_library().procedures.values()
    return [one.key for one in every if one.moves == ComponentKind.TIRE]


@member_required(Role.KEEPER)
def axle_ratings(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)

    def form_of(data: Any = None) -> AxlesForm:
        rows = list(rig.axle_ratings.all())
        start: dict[str, Any] = {f"axle_{row.axle}": row.rating for row in rows}
        start["unit"] = rows[0].unit if rows else usual_mass_unit(rig.household)
        return AxlesForm(data, axles=axles_of(rig), initial=start)

    form = form_of(request.POST or None)
    rate = partial(rate_axles, rig, by=request.member)
    return form_page(
        request,
        form,
        changes=rig,
        now=form_of,
        heading=f"Axle ratings of {rig}",
        intro="From the manufacturer's plate: each axle's gross weight rating (GAWR).",
        back=reverse("tires", args=[pk]),
        save=lambda unit, **_rest: rate(unit=unit, ratings=form.ratings()),
    )
