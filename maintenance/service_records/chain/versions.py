"""What a link says of a record, by the version of its text.

The names of a version are frozen: links that were made with them are verified for ever.
Beside each name stands where it is read today, as a lookup. A column that is renamed
gets its new lookup here; of one that is dropped the lookup is None, and no link is held
against it any more. A column that came later makes a new version (`plus`).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from django.db.models import Model

from maintenance.core.chain import Plain
from maintenance.households.models import Member
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig

from ..models import (
    Attachment,
    PartUsed,
    RecordLine,
    ServiceRecord,
    SupplyUsed,
    TorqueCheck,
    TorquePlace,
)

Names = Mapping[str, str | None]  # name in the text -> lookup, None where it is dropped


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of one table. `way` leads from a row to its record, `only` says which rows
    count. `before` is what a name that came later held in rows of before; where it is
    not said, rows of before may hold anything."""

    model: type[Model]
    way: str
    names: Names
    order: tuple[str, ...] = ("pk",)
    only: dict[str, bool] = field(default_factory=dict)
    before: dict[str, Plain] = field(default_factory=dict)


Version = Mapping[str, Part]

RECORD = "record"  # the part whose names stand in the content itself
RAISED = "raised"  # wheels that were off and other events, which no column holds


def same(names: str) -> dict[str, str | None]:
    """Names that are those of their columns."""
    return {name: name for name in names.split()}


def plus(version: Version, name: str, names: Names, **before: Plain) -> Version:
    """A version with more names in one part, and what these held in rows of before:
    `VERSIONS[3] = plus(VERSIONS[2], "lines", same("smell"), smell="")`."""
    part = version[name]
    more = replace(part, names={**part.names, **names}, before=part.before | before)
    return {**version, name: more}


# Names that refer to a row: in version 1 by its number, later by its key.
REFERS: dict[str, type[Model]] = {
    "rig": Rig,
    "item": PlanItem,
    "entered_by": Member,
    "voided_by": Member,
    "added_by": Member,
    "merged_into": ServiceRecord,
}

# --- names that are alike in all versions ---------------------------------------------

_RECORD = same(
    "on until place done_by doer values currency labor parts tax total warranty_until"
    " warranty_meter warranty_value warranty_covers signed_off_by credential notes"
    " entered_at voided_at why_voided"
)
_LINE = same("position title outcome places note measures steps")
_TORQUE = same(
    "figure unit origin oiled makers_figure makers_source wrench wrench_range"
    " wrench_fits wrench_calibrated wrench_words"
)
_TORQUE_PLACE = same("place figure reached moved")
_SUPPLY = same("name amount unit")
_PART_USED = same("position name number quantity price")
_FILE = same("title content_type size sha256 added_at")
_EVENT: Names = {"kind": "event__kind", "places": "event__places"}

# --- version 1: rows are named by their numbers in the database -----------------------

_ID = same("id")
_NUMBERS = {
    "rig": "rig_id",
    "entered_by": "entered_by_id",
    "voided_by": "voided_by_id",
    "merged_into": "merged_into_id",
}
_OF = {"record": "record_id"}
_FILE_NUMBERS = {"rig": "rig_id", "added_by": "added_by_id"}
_EVENTS = Part(
    ServiceRecord.events.through,
    "servicerecord_id",
    _EVENT,
    order=("event__kind", "event_id"),
    only={"event__withdrawn": False},
)

# --- version 2: rows are named by keys of their own, so that they can move ------------

_KEY = {"key": "row_key"}
_KEYS = {
    "rig": "rig__row_key",
    "entered_by": "entered_by__row_key",
    "voided_by": "voided_by__row_key",
    "merged_into": "merged_into__row_key",
}
_FILE_KEYS = {"key": "key", "rig": "rig__row_key", "added_by": "added_by__row_key"}

VERSIONS: dict[int, Version] = {
    1: {
        RECORD: Part(ServiceRecord, "pk", _ID | _NUMBERS | _RECORD),
        "lines": Part(RecordLine, "record", _ID | _OF | {"item": "item_id"} | _LINE),
        "torque": Part(TorqueCheck, "record", _ID | _OF | _TORQUE),
        "torque_places": Part(
            TorquePlace,
            "check_of__record",
            _ID | {"check_of": "check_of_id"} | _TORQUE_PLACE,
        ),
        "supplies": Part(SupplyUsed, "record", _ID | _OF | _SUPPLY),
        "parts_used": Part(PartUsed, "record", _ID | _OF | _PART_USED),
        "attachments": Part(Attachment, "record", _ID | _OF | _FILE_NUMBERS | _FILE),
        RAISED: _EVENTS,
    },
    2: {
        RECORD: Part(
            ServiceRecord,
            "pk",
            _KEY | _KEYS | _RECORD | same("wheels_off values_confirmed"),
        ),
        "lines": Part(
            RecordLine,
            "record",
            _KEY | {"item": "item__row_key"} | _LINE,
            order=("position", "row_key"),
        ),
        "torque": Part(TorqueCheck, "record", _KEY | _TORQUE),
        "torque_places": Part(
            TorquePlace, "check_of__record", _KEY | _TORQUE_PLACE, order=("row_key",)
        ),
        "supplies": Part(SupplyUsed, "record", _KEY | _SUPPLY, order=("row_key",)),
        "parts_used": Part(
            PartUsed, "record", _KEY | _PART_USED, order=("position", "row_key")
        ),
        "attachments": Part(Attachment, "record", _FILE_KEYS | _FILE, order=("key",)),
        RAISED: _EVENTS,
    },
}
# Wheels whose nuts held without a figure read.
VERSIONS[3] = plus(VERSIONS[2], "torque_places", same("held"), held=False)


def newest() -> int:
    """The version of links that are made now."""
    return max(VERSIONS)


# --- what no link says, and why -------------------------------------------------------

PARTS = {name: part for name, part in VERSIONS[newest()].items() if name != RAISED}
NUMBER = "the number of the row in this database; its key says which row it is"
EXEMPT: dict[tuple[type[Model], str], str] = {
    **{(part.model, "id"): NUMBER for part in PARTS.values()},
    (ServiceRecord, "form_token"): "says only that a form was posted once",
    (ServiceRecord, "warranty_item"): "reminds of the warranty; may leave the plan",
    (ServiceRecord, "readings"): "what it gave; the figures stand in its values",
    (RecordLine, "completions"): "what it gave, from what it says itself",
    (SupplyUsed, "supply"): "supplies may leave the list; name and amount stay",
    (Attachment, "form_token"): "says only which form a file came with",
    (Attachment, "stored"): "where the file lies; the file has its digest",
}
# Tables that point to rows of a record, as "app.Model".
EXEMPT_TABLES = {
    "service_records.ChainLink": "the links themselves",
    "service_records.Merge": "how to undo a merge; that it was made is in merged_into",
    "service_records.JournalEntry": "how to take back what it gave",
    "service_records.LineFinding": "what a job found has a story of its own",
    "walkrounds.WalkRound": "has a story of its own",
    "exchange.ImportedRow": "where a record came from, shown beside it",
}
