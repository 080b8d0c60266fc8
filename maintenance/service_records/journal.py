"""What a record gave, row by row, so that it can be taken back.

An entry names a row with what it held before and after: a row that was made held
nothing before, one that was removed holds nothing after. What somebody changed,
confirmed or built on since is not the record's any more: it stays, and is named.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from django.apps import apps
from django.db.models import JSONField, Model

from maintenance.core.chain import ChainError, plain
from maintenance.findings.models import Finding
from maintenance.findings.services import state_while_open
from maintenance.plans.models import Completion, Deferral, PlanItem
from maintenance.supplies.models import Supply
from maintenance.supplies.stock import put_in
from maintenance.vehicles.models import Event, Reading

from .models import Attachment, JournalEntry, ServiceRecord

# Renewed with the standings, so that a change of it is nobody's.
DERIVED = {"id", "doubtful"}
WITHDRAWN: dict[type[Model], Callable[[date], dict[str, Any]]] = {
    Reading: lambda _today: {"withdrawn": True},
    Event: lambda _today: {"withdrawn": True},
    Completion: lambda _today: {"withdrawn": True},
    Finding: lambda _today: {"withdrawn": True},
    PlanItem: lambda today: {
        "dropped_on": today,
        "why_dropped": "the record it belongs to doesn't count anymore",
    },
    Attachment: lambda _today: {},  # proof that was filed stays with its record
}


class Journal:
    """Entries of one giving, written together at its end."""

    def __init__(self) -> None:
        self._entries: list[JournalEntry] = []

    def made(self, record: ServiceRecord, *rows: Model) -> None:
        for row in rows:
            self._note(record, row, None, columns_of(row))

    def removed(self, record: ServiceRecord, *rows: Model) -> None:
        for row in rows:
            self._note(record, row, columns_of(row), None)

    def change(self, record: ServiceRecord, row: Model, **columns: Any) -> None:
        """Change a row, and note both values of its columns that are changed."""
        before = columns_of(row)
        for name, value in columns.items():
            setattr(row, name, value)
        row.save(update_fields=list(columns))
        after = columns_of(row)
        was = {name: before[name] for name in columns}
        self.changed(record, row, was, {name: after[name] for name in columns})

    def changed(
        self,
        record: ServiceRecord,
        row: Model,
        was: Mapping[str, Any],
        now: Mapping[str, Any],
    ) -> None:
        self._note(record, row, was, now)

    def _note(self, record: ServiceRecord, row: Model, was: Any, now: Any) -> None:
        self._entries.append(
            JournalEntry(
                record=record, model=row._meta.label_lower, row=row.pk, was=was, now=now
            )
        )

    def write(self) -> None:
        JournalEntry.objects.bulk_create(self._entries, batch_size=1000)


def columns_of(row: Model) -> dict[str, Any]:
    """What a row holds, in a form that can be stored and compared."""
    return {
        name: value if is_json else _stored(value)
        for name, is_json in _columns(type(row))
        for value in (getattr(row, name),)
    }


@cache
def _columns(model: type[Model]) -> tuple[tuple[str, bool], ...]:
    """The name of each column, and whether it holds JSON."""
    return tuple(
        (field.attname, isinstance(field, JSONField))
        for field in model._meta.concrete_fields
        if field.name not in DERIVED
    )


def _stored(value: Any) -> Any:
    if value is None or isinstance(value, str | bool | int):
        return value  # most of them
    try:
        return plain(value)
    except ChainError:
        return str(value)  # a UUID, say


def take_back(
    records: Sequence[ServiceRecord], *, today: date, erase: bool = False
) -> list[str]:
    """Take back what records gave; says in words what stays, because it is not the
    record's any more.

    Rows that were made are withdrawn, or with `erase` are gone as if they had never
    been, and what was removed is there again. The caller renews the standings.
    """
    entries = list(JournalEntry.objects.filter(record__in=records).order_by("-pk"))
    rows = _rows_of(entries)
    made: dict[type[Model], list[int]] = defaultdict(list)
    kept: list[str] = []
    for entry in entries:
        model = apps.get_model(entry.model)
        row = rows[model].get(entry.row)
        if entry.now is None:
            if erase and row is None:
                _bring_back(model, entry)
        elif row is None:
            continue  # somebody removed it
        elif entry.was is not None:
            _restore(row, entry.was, entry.now)
        elif _is_still(row, entry.now):
            made[model].append(row.pk)
        elif not _is_withdrawn(row):
            kept.append(_words(row))
    for model, ids in made.items():
        _let_go(model, ids, today, erase)
    JournalEntry.objects.filter(pk__in=[entry.pk for entry in entries]).delete()
    return kept


def _rows_of(entries: Iterable[JournalEntry]) -> dict[type[Model], dict[int, Model]]:
    ids: dict[str, list[int]] = defaultdict(list)
    for entry in entries:
        ids[entry.model].append(entry.row)
    return {
        (model := apps.get_model(label)): model._default_manager.in_bulk(some)
        for label, some in ids.items()
    }


def _is_still(row: Model, given: Mapping[str, Any]) -> bool:
    """Whether nobody changed the row since, nor built on it."""
    now = columns_of(row)
    same = all(now[name] == value for name, value in given.items() if name in now)
    return same and not _built_on(row)


def _is_withdrawn(row: Model) -> bool:
    """Somebody else withdrew it, or took it off the plan."""
    return bool(getattr(row, "withdrawn", False) or getattr(row, "dropped_on", None))


def _built_on(row: Model) -> bool:
    if isinstance(row, Finding):
        return row.photos.exists() or row.sightings.exists()
    if isinstance(row, PlanItem):
        return row.completions.exists()
    return False


def _let_go(model: type[Model], ids: list[int], today: date, erase: bool) -> None:
    for start in range(0, len(ids), 500):
        some = model._default_manager.filter(pk__in=ids[start : start + 500])
        columns = WITHDRAWN[model](today)
        if erase:
            some.delete()
        elif columns:
            some.update(**columns)


def _restore(row: Model, was: Mapping[str, Any], given: Mapping[str, Any]) -> None:
    """Columns that still hold what was given hold again what they held before."""
    if isinstance(row, Supply):
        # Others take out and put in meanwhile: what was taken is what comes back.
        put_in(row, Decimal(was["stock"]) - Decimal(given["stock"]))
        return
    if isinstance(row, Deferral) and row.item.deferrals.filter(ended=False).exists():
        return  # it was put off again since
    now = columns_of(row)
    still = [name for name in was if now[name] == given[name]]
    for name in still:
        setattr(row, name, _python(type(row), name, was[name]))
    if isinstance(row, Finding) and "state" in still:
        row.state = state_while_open(row)  # its plan may have been dropped since
    row.save(update_fields=still)


def _bring_back(model: type[Model], entry: JournalEntry) -> None:
    was = entry.was or {}
    columns = {name: _python(model, name, value) for name, value in was.items()}
    model._default_manager.bulk_create(
        [model(pk=entry.row, **columns)], ignore_conflicts=True
    )
    # Moments that are set by themselves when a row is made are those of before.
    model._default_manager.filter(pk=entry.row).update(**columns)


def _python(model: type[Model], attname: str, stored: Any) -> Any:
    fields = {field.attname: field for field in model._meta.concrete_fields}
    return fields[attname].to_python(stored)


def _words(row: Model) -> str:
    return f"{row._meta.verbose_name}: {row}"
