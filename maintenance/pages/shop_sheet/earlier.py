"""What was done before at the jobs that a shop is asked for."""

from collections import defaultdict
from collections.abc import Collection, Iterator

from maintenance.packets.history.words import RigWords, span
from maintenance.plans.models import Outcome
from maintenance.service_records.models import RecordLine

TOLD = 3  # times


def earlier_work(items: Collection[int], words: RigWords) -> dict[int, tuple[str, ...]]:
    """Plan item id -> its last times in words, newest first. Void records are left
    out; of work that was logged twice the record that stands is told."""
    told: dict[int, list[str]] = defaultdict(list)
    for line in _lines(items):
        if line.item_id is not None and len(told[line.item_id]) < TOLD:
            told[line.item_id].append(_words(line, words))
    return {item: tuple(said) for item, said in told.items()}


def _lines(items: Collection[int]) -> Iterator[RecordLine]:
    rows = (
        RecordLine.objects.filter(item__in=items, record__voided_at__isnull=True)
        .exclude(record__merged_into__voided_at__isnull=False)
        .select_related("record")
        .order_by("-record__on", "-pk")
    )
    seen = set()
    standing = {(x.item_id, x.record_id) for x in rows if not x.record.merged_into_id}
    for line in rows:
        record = line.record
        one = (line.item_id, record.merged_into_id or record.pk)
        if one in seen or (record.merged_into_id and one in standing):
            continue
        seen.add(one)
        yield line


def _words(line: RecordLine, words: RigWords) -> str:
    """`2 Nov 2025, 43,408 mi, by Ann: fault found, one caliper sticks`"""
    record = line.record
    when = ", ".join((span(record.on, record.until), *words.all(record.values)))
    outcome = "" if line.outcome == Outcome.DONE else str(Outcome(line.outcome).label)
    what = ", ".join(filter(None, (outcome.lower(), line.note.strip())))
    return f"{when}, by {record.doer}{f': {what}' if what else ''}"
