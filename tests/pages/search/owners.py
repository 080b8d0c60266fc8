"""What must come first for an owner's own words: `owner_queries.toml`, held against the
search of the demo's household."""

import tomllib
from datetime import date, timedelta
from pathlib import Path

from django.utils import timezone

from maintenance.components.models import Component
from maintenance.core.search.shelf import Thing
from maintenance.pages.search.finding import find
from maintenance.pages.search.index import refresh
from maintenance.pages.search.showing import groups_of
from maintenance.plans.models import PlanItem
from maintenance.service_records.models import Attachment, ServiceRecord

FILE = Path(__file__).parent / "owner_queries.toml"
QUERIES = tomllib.loads(FILE.read_text())["query"]


def missed(household, as_of: date) -> list[str]:
    """The queries of which something else comes first on the page."""
    refresh(household, timezone.now())
    said = []
    for query in QUERIES:
        groups = groups_of(find(household, query["words"]))
        wanted = {
            _wanted(one, as_of) for one in query.get("any_of", [query.get("first")])
        }
        found = _named(groups[0].rows[0].best.thing) if groups else set()
        if not wanted & found:
            said.append(f"{query['words']}: {found or 'nothing'}, not {wanted}")
    return said


def _wanted(one: dict, as_of: date) -> tuple[str, str]:
    if one["kind"] == "record":
        return "record", f"{as_of + timedelta(days=one['day'])} {one['rig']}"
    return one["kind"], one["key"]


def _named(thing: Thing) -> set[tuple[str, str]]:
    """Kind and key as the list calls it."""
    name = NAMES.get(thing.kind)
    return (
        name(thing.key)
        if name
        else {(thing.kind, thing.key), (thing.kind, thing.title)}
    )


def _record(key: str) -> set[tuple[str, str]]:
    record = ServiceRecord.objects.get(pk=key)
    return {("record", f"{record.on} {record.rig.name}")}


def _part(key: str) -> set[tuple[str, str]]:
    part = Component.objects.get(pk=key)
    return {("component", part.serial), ("component", f"tire {part.place}")}


NAMES = {
    "record": _record,
    "part": _part,
    "file": lambda key: {
        ("file", Attachment.objects.get(pk=key.partition("-")[2]).title)
    },
    "item": lambda key: {("procedure", PlanItem.objects.get(pk=key).key)},
    "spot": lambda key: {("place", key.partition("-")[2])},
}
