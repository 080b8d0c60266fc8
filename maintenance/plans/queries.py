"""Reading plans: as facts for the reckoning, and as rows for pages."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, TypeVar

from django.db.models import (
    Case,
    F,
    FilteredRelation,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
    prefetch_related_objects,
)

from maintenance.components.models import SPARE
from maintenance.components.queries import fittings_of
from maintenance.core import facts
from maintenance.core.facts import kinds_within
from maintenance.core.triggers import FOLLOW_UPS, parse_triggers
from maintenance.core.triggers.kind import kinds_of
from maintenance.households.models import Household
from maintenance.library.model import Procedure
from maintenance.library.proposals import Proposal, propose
from maintenance.library.reading import load_library
from maintenance.vehicles.models import Event, Meter, Rig
from maintenance.vehicles.queries import RigFacts, decimals, place_set, rig_facts

from .component_facts import PartPast, pasts_of_parts, rigs_before
from .models import (
    BaselineKind,
    Completion,
    Deferral,
    MakerFigure,
    OwnProcedure,
    PlanItem,
    Standing,
    StandingName,
)
from .own_procedures import as_procedure, is_own

Asked = TypeVar("Asked")


def load_rigs(rigs: Iterable[Rig], as_of: date) -> dict[int, facts.Rig]:
    """Whole rigs as known on a day, for the reckoning; an item's key is its id.

    The number of queries does not grow with rigs, items or completions.
    """
    own = {rig.pk: rig for rig in rigs}
    items = PlanItem.objects.active().filter(rig__in=own)
    items = items.select_related("component").order_by("pk")
    fittings = fittings_of({x.component_id for x in items if x.component_id})
    # Also those that a part of theirs came from.
    known = rig_facts((rigs_before(fittings) | own).values(), as_of)
    pasts = pasts_of_parts(fittings, known, as_of)
    found = _items_as_facts(items, as_of, pasts, known)
    return {
        pk: replace(known[pk].without_items(), items=tuple(found[pk])) for pk in own
    }


def _items_as_facts(
    items: QuerySet[PlanItem],
    as_of: date,
    pasts: Mapping[int, PartPast],
    known: Mapping[int, RigFacts],
) -> dict[int, list[facts.Item]]:
    """rig id -> its items. On cars that are towed, wheels and bearings count what they
    were towed as well."""
    done = defaultdict(list)
    rows = Completion.objects.filter(item__in=items, withdrawn=False, on__lte=as_of)
    for row in rows.order_by("on", "pk"):
        done[row.item_id].append(row)
    groups = defaultdict(list)
    alike = Counter((item.rig_id, item.key) for item in items if item.component_id)
    for item in items:
        past = pasts.get(item.component_id or 0)
        fact = item_as_fact(item, done[item.pk], past)
        rig = known[item.rig_id]
        if _is_towed_car(rig) and _rolls(item):
            fact = _on_wheels(fact)
        if alike[item.rig_id, item.key] > 1:  # an event does not tell which it was
            fact = replace(fact, renewed_by="")
        runway = asked_in_stay(rig.rhythm, item.key)
        groups[item.rig_id].append(_with_runway(fact, runway) if runway else fact)
    return groups


def _is_towed_car(rig: RigFacts) -> bool:
    return {facts.ODOMETER, facts.TOWED} <= rig.meters.keys()


def _rolls(item: PlanItem) -> bool:
    procedure = load_library().procedures.get(item.key)
    return procedure is not None and procedure.rolls


def _on_wheels(item: facts.Item) -> facts.Item:
    triggers = tuple(
        replace(one, meter=facts.WHEEL_DISTANCE)  # type: ignore[type-var]
        if getattr(one, "meter", None) == facts.ODOMETER
        else one
        for one in item.triggers
    )
    return replace(item, triggers=triggers)


def asked_in_stay(rhythm: Mapping[str, Asked], key: str) -> Asked | None:
    """What the runways of a stay ask of an item (`Stay.rhythm`), or None. One that was
    kept by an earlier version has it under the item's key."""
    procedure = load_library().procedures.get(key)
    runway = procedure.runway if procedure else ""
    return rhythm.get(runway, rhythm.get(key))


def _with_runway(item: facts.Item, runway: facts.Runway) -> facts.Item:
    triggers = tuple(one.in_stay(runway) for one in kinds_of(item))
    return replace(item, triggers=triggers)


def item_as_fact(
    item: PlanItem, done: Sequence[Completion], past: PartPast | None
) -> facts.Item:
    completions = [completion_as_fact(row) for row in done]
    baseline = _baseline(item)
    procedure = load_library().procedures.get(item.key)
    if past is not None:
        pairs = zip(done, completions, strict=True)
        completions = [past.completion(row, fact) for row, fact in pairs]
        baseline = past.baseline(baseline)
    return facts.Item(
        key=str(item.pk),
        triggers=parse_triggers(item.triggers, item.key),
        done=tuple(completions),
        baseline=baseline,
        taken_on=past.taken_on(item.taken_on) if past else item.taken_on,
        anchored=item.anchored,
        once=item.once,
        safety=item.safety,
        **_fitness(item, procedure),
        per_place=procedure is not None and procedure.per == "place",
        renewed_by=procedure.renewed_by if procedure else "",
        fitted_on=past.begun.start if past else None,
    )


def _fitness(item: PlanItem, procedure: Procedure | None) -> dict[str, Any]:
    """When it makes its rig unfit: as the library says today, else as the item says.
    A spare that is too old only gets a rig off the road: it warns."""
    if procedure is None:
        return {"unfit": item.unfit}
    when = procedure.unfit_when
    aged = "age" in when and not (item.component and item.component.place == SPARE)
    return {
        "unfit": "overdue" in when and not procedure.not_legal,
        "unfit_on_event": "event" in when,
        "unfit_years": procedure.unfit_years if aged else None,
        "paper": procedure.not_legal,
    }


def completion_as_fact(row: Completion) -> facts.Completion:
    return facts.Completion(
        on=row.on,
        until=row.until,
        values=decimals(row.values),
        outcome=row.outcome,  # type: ignore[arg-type]
        places=place_set(row.places),
    )


def _baseline(item: PlanItem):
    if item.baseline == BaselineKind.IN_SERVICE:
        return "in_service"
    if item.baseline == BaselineKind.STATED and item.baseline_on:
        return facts.Baseline(item.baseline_on, decimals(item.baseline_values))
    return None


def standings_of(household: Household) -> QuerySet[Standing]:
    """Standings with item, rig and the item's deferral, in the order of Due."""
    return (
        Standing.objects.filter(  # type: ignore[no-redef]
            item__rig__household=household,
            item__dropped_on__isnull=True,
            item__rig__sold_on__isnull=True,
        )
        .select_related("item__rig")
        .annotate(  # an item has one open deferral at most
            deferral=FilteredRelation(
                "item__deferrals", condition=Q(item__deferrals__ended=False)
            ),
            deferred_until=F("deferral__until"),
            deferred_until_value=F("deferral__until_value"),
            deferred_why=F("deferral__why"),
            deferred_by=F("deferral__made_by__name"),
            deferred_unit=Subquery(
                Meter.objects.filter(
                    rig=OuterRef("item__rig"), kind=OuterRef("deferral__until_meter")
                ).values("unit")
            ),
        )
        .order_by("rank", F("closes_on").asc(nulls_last=True), "item__pk")
    )


DUE_PAGE = (
    StandingName.OVERDUE,
    StandingName.DUE,
    StandingName.UNKNOWN,
    StandingName.SOON,
)


CHECK_AHEAD = Q(  # as Standing.is_check_ahead
    standing=StandingName.LATER,
    item__safety=True,
    governing__in=FOLLOW_UPS,
    result__window__opens__has_key="meter",
)


def due_standings(household: Household) -> QuerySet[Standing]:
    """What the page Due shows: checks ahead stand before what is due."""
    asked = Q(standing__in=DUE_PAGE) | CHECK_AHEAD | Q(unfit=True)
    shown = standings_of(household).filter(asked)
    place = Case(When(CHECK_AHEAD, then=Value(2.5)), default=F("rank") * 1.0)
    return shown.order_by(place, F("closes_on").asc(nulls_last=True), "item__pk")


def plan_of(rig: Rig) -> QuerySet[Standing]:
    return standings_of(rig.household).filter(item__rig=rig)


def put_off_since(items: Iterable[PlanItem]) -> dict[int, date]:
    """Item id -> the day on which it was first put off since its work was last done."""
    latest = Completion.objects.filter(item=OuterRef("item"), withdrawn=False)
    rows = Deferral.objects.filter(item__in=items).annotate(
        done_on=Subquery(latest.order_by("-on").values("on")[:1])
    )
    found: dict[int, date] = {}
    for row in rows.select_related("item__rig__household").order_by("made_at"):
        on = row.item.rig.household.today(row.made_at)
        if row.done_on is None or on > row.done_on:
            found.setdefault(row.item_id, on)
    return found


def following(event: Event) -> list[PlanItem]:
    """The items that an event brings on: those on the plan on its day, and those taken
    on later whose check was still open then."""
    open_now = Q(taken_on__lte=event.on) | Q(standing__governing__in=FOLLOW_UPS)
    items = PlanItem.objects.active().filter(open_now, rig=event.rig)
    return [
        item for item in items.order_by("title") if event.kind in kinds_followed(item)
    ]


def kinds_followed(item: PlanItem) -> set[str]:
    """The kinds of events after which the item's rules ask for it."""
    followed = {rule.follows() for rule in parse_triggers(item.triggers, item.key)}
    return {kind for one in followed if one for kind in kinds_within(one)}


def withdrawn_causes(
    works: Collection[tuple[PlanItem, date]],
) -> dict[tuple[int, date], Event]:
    """Item id and day of `works`, all on one rig -> the event that the work followed,
    if it was withdrawn since; none where one that counts called for it as well."""
    kinds = {item.pk: kinds_followed(item) for item, _on in works}
    if not any(kinds.values()):
        return {}
    rig, last = next(item.rig_id for item, _on in works), max(on for _item, on in works)
    rows = Event.objects.filter(
        rig=rig, kind__in=set().union(*kinds.values()), on__lte=last
    )
    events = list(rows.order_by("on", "pk"))
    if not any(event.withdrawn for event in events):
        return {}
    done = defaultdict(set)
    completed = Completion.objects.filter(item__in=kinds, withdrawn=False)
    for pk, on in completed.values_list("item", "on"):
        done[pk].add(on)
    found = {}
    for item, on in works:
        since = max((day for day in done[item.pk] if day < on), default=date.min)
        causes = [
            event
            for event in events
            if event.kind in kinds[item.pk] and since <= event.on <= on
        ]
        if causes and all(event.withdrawn for event in causes):
            found[item.pk, on] = causes[-1]
    return found


def household_is_stale(household: Household, as_of: date) -> bool:
    """True when the standings were last reckoned for another day: an earlier one, or a
    later one by a clock that was ahead and was set back."""
    return household.reckoned_on != as_of


def maker_of(item: PlanItem) -> MakerFigure | None:
    """Read once, however often it is asked of the same item."""
    maker: MakerFigure | None = getattr(item, "maker", None)
    if maker is not None:
        prefetch_related_objects([maker], "values")
    return maker


def procedure_of(item: PlanItem) -> Procedure | None:
    """How the item's work is done, by the library or by the household's own words."""
    if not is_own(item.key):
        return load_library().procedures.get(item.key)
    return own_procedures(item.rig.household).get(item.key)


def procedures_of(household: Household) -> Mapping[str, Procedure]:
    """Every procedure that items of a household can have, by key, in one query."""
    return {**load_library().procedures, **own_procedures(household)}


def own_procedures(household: Household) -> dict[str, Procedure]:
    rows = OwnProcedure.objects.filter(household=household)
    return {row.key: as_procedure(row) for row in rows.select_related("written_by")}


def proposals_for(rig: Rig) -> list[Proposal]:
    """What the library proposes for a rig and is not on its plan."""
    has = set(PlanItem.objects.active().filter(rig=rig).values_list("key", flat=True))
    proposed = propose(
        load_library(),
        kind=rig.kind,
        equipment=rig.equipment,
        meters=[meter.kind for meter in rig.meters.all()],
    )
    return [proposal for proposal in proposed if proposal.procedure.key not in has]


def meter_of(item: PlanItem) -> Meter | None:
    """The meter that the item's first rule on a meter counts on."""
    for trigger in parse_triggers(item.triggers, item.key):
        kind = getattr(trigger, "meter", None)
        if kind:
            return item.rig.meters.filter(kind=kind).first()
    return None
