"""What a record consists of, read straight from the rows of the database.

Every column counts but those that EXEMPT names with the reason; a new column is so
within the chain from the day it is added. Links of before do not know it: for those it
must hold what the migration gave it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Field, Model

from maintenance.core.chain import ChainError, Plain, plain

from ..models import (
    Attachment,
    PartUsed,
    RecordLine,
    ServiceRecord,
    SupplyUsed,
    TorqueCheck,
    TorquePlace,
)

# Name in the content -> the rows of a record, and the way from them to the record.
PARTS: dict[str, tuple[type[Model], str]] = {
    "lines": (RecordLine, "record"),
    "torque": (TorqueCheck, "record"),
    "torque_places": (TorquePlace, "check_of__record"),
    "supplies": (SupplyUsed, "record"),
    "parts_used": (PartUsed, "record"),
    "attachments": (Attachment, "record"),
}
EXEMPT = {
    (ServiceRecord, "form_token"): "says only that a form was posted once",
    (
        ServiceRecord,
        "warranty_item",
    ): "what reminds of the warranty; may leave the plan",
    (SupplyUsed, "supply"): "supplies may leave the list; name and amount stay",
    (Attachment, "form_token"): "says only which form a file came with",
    (Attachment, "key"): "the address it is shown at",
    (Attachment, "stored"): "where the file lies; the file has its digest",
}
RAISED = "raised"  # wheels that were off and other events, which no column holds


def fields_of(model: type[Model]) -> list[Field]:
    return [
        field
        for field in model._meta.concrete_fields
        if (model, field.name) not in EXEMPT
    ]


def contents_of(records: Iterable[int]) -> dict[int, dict[str, Plain]]:
    """Record id -> its content as it stands, in a fixed number of queries."""
    ids = list(records)
    found = {row["id"]: row for row in _rows(ServiceRecord, "pk", ids)}
    for name, (model, way) in PARTS.items():
        grouped: dict[int, list[Mapping[str, Plain]]] = defaultdict(list)
        for row in _rows(model, way, ids):
            grouped[row.pop("of")].append(row)
        for pk, content in found.items():
            content[name] = grouped[pk]
    raised = _raised(ids)
    for pk, content in found.items():
        content.pop("of")
        content[RAISED] = raised[pk]
    return found


def content_of(record: ServiceRecord) -> dict[str, Plain]:
    return contents_of([record.pk])[record.pk]


def _rows(model: type[Model], way: str, ids: list[int]) -> list[dict[str, Any]]:
    fields = fields_of(model)
    columns = [field.attname for field in fields]
    names = [*(field.name for field in fields), "of"]
    rows = model._default_manager.order_by("pk").values_list(*columns, way)
    if len(ids) < MANY:
        rows = rows.filter(**{f"{way}__in": ids})
    wanted = set(ids)
    return [
        {name: legible(value) for name, value in zip(names, row, strict=True)}
        for row in rows.iterator(chunk_size=2000)
        if row[-1] in wanted
    ]


# More ids than this are not put into one query (SQLite takes 32,766 at most).
MANY = 500


def legible(value: object) -> Plain:
    """The canonical value; of what has none (a float, say, put there from outside) what
    it looks like, so that it differs from all that the program writes."""
    if value is None or type(value) is int:
        return value
    try:
        return plain(value)
    except ChainError:
        return repr(value)


def _raised(ids: list[int]) -> dict[int, list[Plain]]:
    through = ServiceRecord.events.through._default_manager
    counting = through.filter(event__withdrawn=False)
    if len(ids) < MANY:
        counting = counting.filter(servicerecord_id__in=ids)
    rows = counting.order_by("event__kind", "event_id").values_list(
        "servicerecord_id", "event__kind", "event__places"
    )
    found: dict[int, list[Plain]] = defaultdict(list)
    for pk, kind, places in rows.iterator(chunk_size=2000):
        found[pk].append({"kind": kind, "places": legible(places)})
    return found


def filled(linked: Mapping[str, Any]) -> dict[str, Plain]:
    """A linked content with what columns that came later held at first."""
    whole = _with_defaults(ServiceRecord, linked)
    for name, (model, _way) in PARTS.items():
        whole[name] = [_with_defaults(model, row) for row in linked.get(name) or []]
    return {RAISED: [], **whole}


def _with_defaults(model: type[Model], row: Mapping[str, Plain]) -> dict[str, Plain]:
    defaults = DEFAULTS.setdefault(
        model, {field.name: legible(_default(field)) for field in fields_of(model)}
    )
    return {**defaults, **row}


def _default(field: Field) -> object:
    return None if field.null and not field.has_default() else field.get_default()


DEFAULTS: dict[type[Model], dict[str, Plain]] = {}
