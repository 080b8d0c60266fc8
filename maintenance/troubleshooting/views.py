"""Finding a cause: the guides, one question a page, and the cause at the end."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.core.trouble import (
    Ending,
    Question,
    Step,
    Tree,
    TroubleError,
    as_measured,
)
from maintenance.households.access import HouseholdRequest, member_required, row_id
from maintenance.households.form_page import act_once
from maintenance.households.models import Role
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem
from maintenance.troubleshooting.models import TroubleOutcome
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Reading, Rig
from maintenance.vehicles.queries import readings_of, rigs_of

from .facts import known_of, last_times
from .finding import find_guides
from .judging import judged
from .place import Place, StalePathError, place_in
from .reading import load_trees
from .services import note_as_finding, outcomes_of, tell_outcome

SURE_WORDS = {
    "likely": "Likely",
    "possible": "Possible",
    "unclear": "Not clear from here",
}
WHO_WORDS = {
    "owner": "You can do this",
    "practiced_owner": "You, if handy, or a shop",
    "shop": "A licensed shop",
}


@dataclass(frozen=True)
class GuideRow:
    tree: Tree
    url: str
    lacks: bool  # the rig has nothing that could have this trouble


@member_required()
def trouble(request: HouseholdRequest) -> HttpResponse:
    """All guides, or the nearest to what was typed; for one rig if one is chosen."""
    rigs = list(rigs_of(request.member.household))
    rig = _chosen(request, rigs)
    words = request.GET.get("q", "").strip()
    rows = [_row(tree, rig) for tree in find_guides(words)]
    rows.sort(key=lambda row: (row.lacks, "" if words else row.tree.title))
    context = {"rows": rows, "rigs": rigs, "rig": rig, "words": words}
    return render(request, "troubleshooting/guides.html", context)


def _chosen(request: HouseholdRequest, rigs: list[Rig]) -> Rig | None:
    pk = row_id(request.GET.get("rig", ""))
    if pk is not None:
        return get_rig(request, pk)
    return rigs[0] if len(rigs) == 1 else None


def _row(tree: Tree, rig: Rig | None) -> GuideRow:
    place = Place(tree.key, rig=rig)
    have = place.equipment
    return GuideRow(
        tree,
        place.url,
        have is not None and not tree.needs <= set(have),
    )


@member_required()
def guide(request: HouseholdRequest, key: str) -> HttpResponse:
    """The question or the cause at this place. It changes nothing."""
    try:
        place = place_in(request, key)
    except StalePathError as stale:
        messages.info(request, "This guide has changed since that link. Start here.")
        return redirect(stale.begin.url)
    if isinstance(place.walk.now, Ending):
        return _cause(request, place, place.walk.now)
    return _question(request, place, place.walk.now)


def _question(
    request: HouseholdRequest, place: Place, question: Question
) -> HttpResponse:
    typed, problem = request.GET.get("value"), ""
    if typed is not None and question.measure is not None:
        try:
            value = as_measured(typed, question.measure)
        except TroubleError as error:
            problem = str(error)
        else:
            return redirect(place.after(f"{value.normalize():f}").url)
    known = known_of(place.rig, question, request.today) if place.rig else None
    context = {
        "place": place,
        "question": question,
        "choices": place.choices(known.answer if known else ""),
        "known": known,
        "last_times": _last_times(place, question.items, request),
        "judged": _judged_before(place),
        "earlier": [] if place.path else _earlier(place),
        "typed": typed or "",
        "problem": problem,
    }
    return render(
        request,
        "troubleshooting/question.html",
        context,
        status=400 if problem else 200,
    )


def _judged_before(place: Place) -> str:
    """What the value measured one step before means."""
    last = place.walk.taken[-1] if place.walk.taken else None
    if last is None or last.value is None or not isinstance(last.step, Question):
        return ""
    return judged(last.step.measure, last.value) if last.step.measure else ""


def _last_times(
    place: Place, keys: tuple[str, ...], request: HouseholdRequest
) -> list[str]:
    return last_times(place.rig, keys, request.today) if place.rig else []


@dataclass(frozen=True)
class JobRow:
    """Upkeep that belongs to a cause; `item` where it is on the rig's plan."""

    procedure: Procedure
    item: PlanItem | None


def _cause(request: HouseholdRequest, place: Place, ending: Ending) -> HttpResponse:
    context = {
        "place": place,
        "ending": ending,
        "sure": SURE_WORDS[ending.sure],
        "who": WHO_WORDS[ending.who],
        "judged": _judged_before(place),
        "earlier": _earlier(place),
        "jobs": _jobs(place.rig, ending),
        "last_times": _last_times(place, ending.items, request),
    }
    return render(request, "troubleshooting/cause.html", context)


def _jobs(rig: Rig | None, ending: Ending) -> list[JobRow]:
    library = load_library().procedures
    rows = PlanItem.objects.active().filter(rig=rig, key__in=ending.items)
    items = {item.key: item for item in rows} if rig else {}
    return [JobRow(library[key], items.get(key)) for key in ending.items]


@dataclass(frozen=True)
class Earlier:
    """What was told of this guide on this rig before."""

    told: TroubleOutcome
    cause: str


def _earlier(place: Place) -> list[Earlier]:
    if place.rig is None:
        return []
    steps = load_trees()[place.walk.tree.key].steps
    rows = outcomes_of(place.rig, place.walk.tree.key).select_related("told_by")[:5]
    return [Earlier(row, _cause_of(steps.get(row.cause))) for row in rows]


def _cause_of(step: Step | None) -> str:
    """What was told stays told, also when the guide has changed since."""
    return step.cause if isinstance(step, Ending) else "A cause from an older version"


@require_POST
@member_required(Role.CREW)
def tell_cause(request: HouseholdRequest, key: str) -> HttpResponse:
    """At a cause of a rig: that was it, that was not it, or note it as a finding."""
    place = place_in(request, key)
    ending, rig, told = place.walk.now, place.rig, request.POST.get("told")
    if rig is None or not isinstance(ending, Ending):
        messages.error(request, "Choose a rig and follow the guide to its end first.")
        return redirect(place.url)
    if told == "finding":
        return act_once(
            request,
            lambda: note_as_finding(
                rig, by=request.member, today=request.today, ending=ending
            ),
            done="Noted as not right. It's on Due.",
            go_on=reverse("rig", args=[rig.pk]),
        )
    tell_outcome(
        rig,
        by=request.member,
        today=request.today,
        guide=place.walk.tree.key,
        ending=ending,
        path=",".join(place.path),
        was_it=told == "was_it",
    )
    messages.success(request, "Saved. We'll show it here the next time.")
    goes_on = told != "was_it" and place.not_cured_url
    return redirect(goes_on or place.url)


@member_required()
def trouble_sheet(request: HouseholdRequest, key: str) -> HttpResponse:
    """For a shop: the rig, its readings, the path and what else is typed here."""
    place = place_in(request, key)
    typed = {name: request.GET.get(name, "").strip()[:500] for name in SHEET_FIELDS}
    context = {
        "place": place,
        "now": place.walk.now,
        "fields": [(name, SHEET_FIELDS[name], text) for name, text in typed.items()],
        "meters": _last_readings(place.rig) if place.rig else [],
        "today": request.today,
    }
    return render(request, "troubleshooting/sheet.html", context)


SHEET_FIELDS = {
    "since": "Since when?",
    "weather": "When does it happen (weather, load, speed)?",
    "tried": "What have you tried?",
}


def _last_readings(rig: Rig) -> list[tuple[str, Reading]]:
    """The last reading of each meter."""
    newest: dict[str, Reading] = {}
    for reading in readings_of(rig).filter(doubtful=False):
        newest.setdefault(str(reading.meter), reading)
    return list(newest.items())
