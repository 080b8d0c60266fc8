"""What every household can find: guides, procedures, calculators, places, zones."""

import functools
from collections.abc import Iterator

from maintenance.calculators.subjects import CALCULATORS
from maintenance.core.search.shelf import Shelf, Thing
from maintenance.findings.zones import entries
from maintenance.library.things import (
    REASON,
    lines,
    names,
    place_things,
    procedure_things,
)
from maintenance.library.words import load_words
from maintenance.troubleshooting.finding import guide_things

from ..models import SearchKind

# What a kind counts beside the others where all fit as well: what you have comes before
# what could be.
WEIGHTS = {
    SearchKind.PART.value: 1.1,
    SearchKind.SPOT.value: 1.1,
    SearchKind.RIG.value: 1.1,
    SearchKind.CALCULATOR.value: 0.97,
    SearchKind.RECORD.value: 0.9,
    SearchKind.FINDING.value: 0.9,
    SearchKind.ITEM.value: 0.9,
    SearchKind.PAGE.value: 0.9,
    SearchKind.FILE.value: 0.8,
    SearchKind.SNAP.value: 0.8,
    SearchKind.SUPPLY.value: 0.8,
    SearchKind.FIGURE.value: 0.75,
    SearchKind.ZONE.value: 0.55,
}
# Pages by the name of their address, as their own headings call them.
PAGES = {
    "due": "Due",
    "rigs": "Rigs",
    "add_rig": "Add a rig",
    "storage": "Calendar: storage",
    "trips": "Trips",
    "log": "History: records",
    "costs": "Costs",
    "packets": "Print",
    "bring_in": "Import records",
    "seals": "Tamper check",
    "library": "How-tos",
    "bench": "Calculators",
    "supplies": "Tools and supplies",
    "findings": "Not right",
    "sittings": "I have 1 hour",
    "snaps": "Photos to file",
    "mail": "Reminders",
    "calendar": "Calendar on your phone",
    "household": "Household and people",
    "myself": "My account",
    "take_out": "Export everything",
    "walkrounds": "Walk-around",
}


@functools.cache
def shelf() -> Shelf:
    return Shelf(load_words().words, _things(), WEIGHTS)


def _things() -> Iterator[Thing]:
    yield from guide_things()
    yield from procedure_things()
    yield from place_things()
    for one in CALCULATORS.values():
        found = names(SearchKind.CALCULATOR, one.key, one.title, *one.also_called)
        about = lines(REASON, one.about)
        yield Thing(
            SearchKind.CALCULATOR, one.key, one.title, (*found, *about), one.group
        )
    for key, title in PAGES.items():
        yield Thing(
            SearchKind.PAGE, key, title, tuple(names(SearchKind.PAGE, key, title))
        )
    for zone in entries():
        found = names(SearchKind.ZONE, zone.key, zone.title)
        look = lines(REASON, *(words.text for words in zone.look))
        yield Thing(SearchKind.ZONE, zone.key, zone.title, (*found, *look))
