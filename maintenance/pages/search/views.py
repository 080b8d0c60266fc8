"""The page of what was found, by kind."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from maintenance.households.access import HouseholdRequest, member_required

from ..models import SearchKind, SearchText
from .finding import find_texts
from .index import refresh

LONGEST = 100  # of what is typed
MOST_ADDED = 500  # records that one search waits for; the worker adds the others

# Heading and the page that shows one, in the order of the page: what helps now first.
SHOWN = {
    SearchKind.GUIDE: ("What may be wrong", "guide"),
    SearchKind.ITEM: ("On your plans", "item"),
    SearchKind.CALCULATOR: ("Figures", "calculator"),
    SearchKind.RECORD: ("Work on record", "record"),
    SearchKind.FINDING: ("Found on walk-arounds", "finding"),
    SearchKind.MANUAL: ("Manuals and placards", "manual"),
    SearchKind.PROCEDURE: ("How work is done", "library"),
}


@dataclass(frozen=True)
class FoundRow:
    """What has the same title on several rigs or days is one row with several links."""

    title: str
    links: list[tuple[str, str]]


@dataclass(frozen=True)
class FoundGroup:
    title: str
    rows: list[FoundRow]


def rows_of(texts: list[SearchText], page: str) -> list[FoundRow]:
    """In the order of the best one of each title."""
    links: dict[str, list[tuple[str, str]]] = {}
    for text in texts:
        link = (text.about, reverse(page, args=[text.key]))
        links.setdefault(text.title, []).append(link)
    return [FoundRow(title, found) for title, found in links.items()]


@member_required()
def search(request: HouseholdRequest) -> HttpResponse:
    typed = request.GET.get("q", "").strip()[:LONGEST]
    household = request.member.household
    found, complete = {}, True
    if typed:
        complete = refresh(household, timezone.now(), MOST_ADDED)
        found = find_texts(household, typed)
    groups = [
        FoundGroup(str(title), rows_of(texts, page))
        for kind, (title, page) in SHOWN.items()
        if (texts := found.get(kind))
    ]
    context = {"typed": typed, "groups": groups, "complete": complete}
    return render(request, "pages/search.html", context)
