"""What was found as rows of the page: under headings, the best heading first."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from django.db.models import Q
from django.urls import reverse

from maintenance.core.search.shelf import Ranked, Thing
from maintenance.core.words import counted
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import Rig

from ..models import SearchKind
from .common import shelf
from .finding import Answer

MOST = 12  # under a heading
# How many rows show at once: under the best heading, the next two, and the others.
OPEN = (4, 2, 2)

# The heading of each kind; where two fit as well, in this order.
HEADINGS = {
    SearchKind.RIG: "Rigs",
    SearchKind.GUIDE: "What may be wrong",
    SearchKind.PROCEDURE: "Jobs and how-tos",
    SearchKind.ITEM: "Jobs and how-tos",
    SearchKind.CALCULATOR: "Calculators",
    SearchKind.FIGURE: "Calculators",
    SearchKind.PLACE: "Where things are",
    SearchKind.SPOT: "Where things are",
    SearchKind.RECORD: "Work on record",
    SearchKind.FILE: "Files",
    SearchKind.SNAP: "Files",
    SearchKind.FINDING: "Not right",
    SearchKind.PART: "Parts",
    SearchKind.MANUAL: "Manuals and placards",
    SearchKind.SUPPLY: "Tools and supplies",
    SearchKind.ZONE: "On a walk-around",
    SearchKind.PAGE: "Pages",
}


# A record that was undone is gone, and its text may still be there.
OF_A_RECORD = (SearchKind.RECORD, SearchKind.FILE)


RIGS = ("rig", "rigs")
COUNTED: dict[str, tuple[str, str]] = {
    SearchKind.RECORD: ("time", "times"),
    SearchKind.FILE: ("file", "files"),
    SearchKind.SNAP: ("photo", "photos"),
}


@dataclass(frozen=True, slots=True)
class Link:
    words: str
    url: str


@dataclass(frozen=True, slots=True)
class FoundRow:
    """What has the same title on several rigs or days is one row, a link to each."""

    title: str
    links: list[Link]
    best: Ranked

    @property
    def counted(self) -> str:
        """On how many rigs, how often, or in how many files."""
        return counted(len(self.links), *COUNTED.get(self.best.thing.kind, RIGS))

    def add(self, links: Iterable[Link]) -> None:
        """Of two that lead to one page, the one that says more."""
        for link in links:
            same = next((one for one in self.links if one.url == link.url), None)
            if same is None:
                self.links.append(link)
            elif len(link.words) > len(same.words):
                self.links[self.links.index(same)] = link


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """`folded`: rows that show when they are asked for."""

    title: str
    rows: list[FoundRow]
    folded: list[FoundRow] = field(default_factory=list)


def groups_of(answer: Answer) -> list[FoundGroup]:
    """The best row of the best heading first."""
    jobs = _Jobs(answer)
    rows: dict[str, dict[str, FoundRow]] = {title: {} for title in HEADINGS.values()}
    for one in answer.ranked:
        heading = HEADINGS[SearchKind(one.thing.kind)]
        for title, links in jobs.links_of(one.thing):
            found = rows[heading].setdefault(title, FoundRow(title, [], one))
            found.add(links)
    headed = [(title, [*found.values()][:MOST]) for title, found in rows.items()]
    headed = [(title, found) for title, found in headed if found]
    headed.sort(key=lambda one: -round(one[1][0].best.rank, 3))
    return [
        _folded(title, found, OPEN[number] if number < len(OPEN) else 0)
        for number, (title, found) in enumerate(headed)
    ]


def _folded(title: str, rows: list[FoundRow], most: int) -> FoundGroup:
    """A fold of one row would be as high as the row."""
    most = len(rows) if most and len(rows) == most + 1 else most
    return FoundGroup(title, rows[:most], rows[most:])


class _Jobs:
    """A procedure and the plan items of the rigs that have it are one row."""

    def __init__(self, answer: Answer) -> None:
        self.rigs, self.asked = answer.rigs, answer.asked
        found = [one.thing for one in answer.ranked]
        keys = [one.key for one in found if one.kind == SearchKind.PROCEDURE]
        pks = [one.key for one in found if one.kind == SearchKind.ITEM]
        rows = PlanItem.objects.active().filter(rig__in=answer.rigs)
        rows = rows.filter(Q(key__in=keys) | Q(pk__in=pks)).select_related("rig")
        self.items = list(rows.order_by("rig__name", "pk"))
        records = {_record_of(one.key) for one in found if one.kind in OF_A_RECORD}
        kept = ServiceRecord.objects.filter(pk__in=records)
        self.records = {str(pk) for pk in kept.values_list("pk", flat=True)}
        self.key_of = {str(item.pk): item.key for item in self.items}

    def links_of(self, thing: Thing) -> Iterable[tuple[str, list[Link]]]:
        """The title of its row, and its links; nothing for what is not there now."""
        if thing.kind == SearchKind.PROCEDURE:
            yield thing.title, self._of_key(thing.key)
        elif thing.kind == SearchKind.ITEM:
            key = self.key_of.get(thing.key)
            if key is not None:
                procedure = load_library().procedures.get(key)
                yield (
                    procedure.title if procedure else thing.title,
                    self._of_key(key),
                )
        elif thing.kind == SearchKind.PLACE:
            links = [
                Link(rig.name, reverse("rig_spots", args=[rig.pk]))
                for rig in self.rigs
                if _can_have(rig, thing.key)
            ]
            if links:
                yield thing.title, links
        elif thing.kind not in OF_A_RECORD or _record_of(thing.key) in self.records:
            title = self._line_of(thing) if thing.kind == SearchKind.RECORD else ""
            yield (
                title or thing.title,
                [Link(thing.about, ADDRESSES[thing.kind](thing.key))],
            )

    def _line_of(self, record: Thing) -> str:
        """The job of a record that was asked for most; its first otherwise."""
        asked = {term for group in self.asked.groups for term in group.terms}

        def hits(title: str) -> int:
            slots = shelf().words.slots(title)
            return sum(not asked.isdisjoint(slot) for slot in slots)

        return max(record.title.splitlines(), key=hits, default="")

    def _of_key(self, key: str) -> list[Link]:
        links = [
            Link(item.rig.name, reverse("item", args=[item.pk]))
            for item in self.items
            if item.key == key
        ]
        return links or [Link("How-to", reverse("library", args=[key]))]


def _record_of(key: str) -> str:
    return key.partition("-")[0]


def _can_have(rig: Rig, key: str) -> bool:
    any_of = load_library().spots[key].equipment_any
    return not any_of or any(one in rig.equipment for one in any_of)


def _page(name: str) -> Callable[[str], str]:
    return lambda key: reverse(name, args=[key])


ADDRESSES: dict[str, Callable[[str], str]] = {
    SearchKind.GUIDE: _page("guide"),
    SearchKind.CALCULATOR: _page("calculator"),
    SearchKind.FIGURE: lambda key: reverse("calculator", args=[key.partition("-")[0]]),
    SearchKind.SPOT: lambda key: reverse("rig_spots", args=[key.partition("-")[0]]),
    SearchKind.ZONE: lambda _key: reverse("walkrounds"),
    SearchKind.PAGE: reverse,
    SearchKind.RIG: _page("rig"),
    SearchKind.RECORD: _page("record"),
    SearchKind.FILE: lambda key: reverse("record", args=[_record_of(key)]),
    SearchKind.SNAP: lambda _key: reverse("snaps"),
    SearchKind.FINDING: _page("finding"),
    SearchKind.MANUAL: _page("manual"),
    SearchKind.PART: _page("part"),
    SearchKind.SUPPLY: lambda _key: reverse("supplies"),
}
