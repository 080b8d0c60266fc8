"""The journal of records of before, from the rows that they point to.

What a record gave and what still counts is its own, as voiding it would have had it.
What it changed in a paper's date, and the sheets and photos it cleared away, was noted
nowhere: a paper's date is then asked for again, as it was. There is no way back: a copy
of the database is made before it is migrated.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from django.apps.registry import Apps
from django.db import migrations
from django.db.models import JSONField

from maintenance.core.chain import ChainError, plain
from maintenance.core.dates import add_months

BATCH = 500
DERIVED = {"id", "doubtful"}
COMPLETING = {"done", "serviceable", "held", "moved"}
EXPIRES = "expires on"


def note_what_was_given(apps: Apps, _editor: object) -> None:
    record_model = apps.get_model("service_records", "ServiceRecord")
    entry = apps.get_model("service_records", "JournalEntry")
    rows = record_model.objects.filter(voided_at__isnull=True).order_by("pk")
    ids = list(rows.values_list("pk", flat=True))
    for start in range(0, len(ids), BATCH):
        some = rows.filter(pk__in=ids[start : start + BATCH]).prefetch_related(
            "readings",
            "events",
            "supplies__supply",
            "merges",
            "warranty_item",
            "lines__item",
            "lines__completions",
            "lines__finding_links__finding",
        )
        notes = [note for record in some for note in _given(record)]
        entry.objects.bulk_create(
            entry(record_id=pk, model=label, row=row, was=was, now=now)
            for pk, label, row, was, now in notes
        )
        for record in some:
            _say_for_itself(record)
        record_model.objects.bulk_update(some, ["wheels_off", "values_confirmed"])
    _name_findings(apps)


Note = tuple[int, str, int, Any, Any]


def _given(record: Any) -> Iterator[Note]:
    rows = [
        *_counting(record.readings.all()),
        *(
            one
            for line in record.lines.all()
            for one in _counting(line.completions.all())
        ),
        *_counting(record.events.all()),
    ]
    findings = [
        (link.how, link.finding)
        for line in record.lines.all()
        for link in line.finding_links.all()
        if not link.finding.withdrawn
    ]
    rows += [finding for how, finding in findings if how == "found"]
    if record.warranty_item is not None and record.warranty_item.dropped_on is None:
        rows.append(record.warranty_item)
    for row in rows:
        yield record.pk, row._meta.label_lower, row.pk, None, _columns(row)
    for how, finding in findings:
        if how == "fixed" and finding.state == "fixed":
            yield _change(record, finding, {"state": "open"}, {"state": "fixed"})
    yield from _supplies(record)
    yield from _papers(record)


def _counting(rows: Iterable[Any]) -> list[Any]:
    return [row for row in rows if not row.withdrawn]


def _change(record: Any, row: Any, was: Any, now: Any) -> Note:
    return record.pk, row._meta.label_lower, row.pk, was, now


def _supplies(record: Any) -> Iterator[Note]:
    # What was put back when the record was made a part of another stays so.
    merges = [merge for merge in record.merges.all() if merge.undone_at is None]
    back = {pk for merge in merges for pk in merge.withdrew.get("supplies", ())}
    for used in record.supplies.all():
        supply = used.supply
        if supply is not None and supply.stock is not None and used.pk not in back:
            # Only what lies between the two is given back.
            was, now = {"stock": str(used.amount)}, {"stock": "0"}
            yield _change(record, supply, was, now)


def _papers(record: Any) -> Iterator[Note]:
    """A date that a record told, where it is still the one that counts."""
    for line in record.lines.all():
        if line.item is None or line.outcome not in COMPLETING:
            continue
        rules = line.item.triggers
        for one in line.measures:
            if one.get("name") == EXPIRES and _ends_on(rules, str(one.get("value"))):
                asked = [{"life": {"months": rules[0]["life"]["months"]}}]
                was, now = {"triggers": asked}, {"triggers": rules}
                yield _change(record, line.item, was, now)


def _ends_on(rules: Any, expires: str) -> bool:
    life = rules[0].get("life", {}) if len(rules) == 1 else {}
    if not ("from" in life and "months" in life):
        return False
    try:
        start = date.fromisoformat(life["from"])
    except ValueError:
        return False
    return add_months(start, life["months"]).isoformat() == expires


def _columns(row: Any) -> dict[str, Any]:
    return {
        field.attname: _stored(getattr(row, field.attname), field)
        for field in row._meta.concrete_fields
        if field.name not in DERIVED
    }


def _stored(value: Any, field: Any) -> Any:
    if isinstance(field, JSONField):
        return value
    try:
        return plain(value)
    except ChainError:
        return str(value)


def _say_for_itself(record: Any) -> None:
    counting = _counting(record.readings.all())
    record.values_confirmed = any(reading.confirmed for reading in counting)
    off = [event.places or [] for event in record.events.all()
           if event.kind == "wheel_off" and not event.withdrawn]  # fmt: skip
    record.wheels_off = list(dict.fromkeys(place for some in off for place in some))


def _name_findings(apps: Apps) -> None:
    """A finding that a record opened has a token of its own by which it is known when
    the record is corrected."""
    link = apps.get_model("service_records", "LineFinding")
    rows = link.objects.filter(how="found", finding__token__isnull=True)
    for one in rows.select_related("line__record", "finding").order_by("pk"):
        fault = one.line.outcome == "fault_found"
        of = one.line if fault else one.line.record
        name = f"{'fault' if fault else 'torque'} {of.row_key}"
        token = uuid5(NAMESPACE_OID, name)
        taken = type(one.finding).objects.filter(token=token).exists()
        if not taken:
            one.finding.token = token
            one.finding.save(update_fields=["token"])


class Migration(migrations.Migration):
    dependencies = [
        ("findings", "0002_findings_below_records"),
        ("plans", "0007_row_keys"),
        ("service_records", "0007_row_keys"),
        ("supplies", "0001_tools_and_supplies"),
        ("vehicles", "0008_row_keys"),
    ]

    operations = [migrations.RunPython(note_what_was_given)]
