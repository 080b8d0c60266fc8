"""Keeping the texts as the rows are, when somebody searches and something changed.

Every service notes what it did in the activity log, so that a household whose log has
not grown has nothing new. Then records are added that are not there yet, those that
were voided or amended since are made anew, and the few other rows all are. Many new
records, as after bringing in a file, are the worker's: a search adds only the newest.
"""

import functools
import hashlib
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import CharField, Count, Exists, Max, OuterRef, QuerySet
from django.db.models.functions import Cast

from maintenance.households.models import ActivityEntry, Household
from maintenance.library.words import FILE
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import changed_since, last_link

from ..models import SearchKind, SearchMark, SearchText
from .texts import (
    finding_texts,
    item_texts,
    manual_texts,
    part_texts,
    record_texts,
    shelf_texts,
    snap_texts,
    spot_texts,
)

# A change that was on its way into the database when the texts were last made.
LOOK_BACK = timedelta(minutes=2)
FEW = (
    item_texts,
    finding_texts,
    manual_texts,
    part_texts,
    spot_texts,
    shelf_texts,
    snap_texts,
)
FORM = 2  # of the terms: one more where texts are read in another way
BATCH = 500
STEP = 1000
UNFINISHED = "some of "  # marks a household with records that are still to be added


def refresh(household: Household, now: datetime, most: int | None = None) -> bool:
    """Make what is missing or out of date; nothing where nothing happened.

    At most `most` records are added, the newest first; False: there are more.
    """
    version = _version_of(household)
    mark = SearchMark.objects.filter(of=_name(household)).first()
    if mark is not None and mark.made_from == version:
        return True
    with transaction.atomic():
        if mark is not None and not _has_our_words(mark):
            SearchText.objects.filter(household=household).delete()
        elif mark is not None:
            _store(record_texts(_changed(household, mark)))
        missing = _missing(household)[:most]
        _store(record_texts(missing))
        _replace(household, [text for texts in FEW for text in texts(household)])
        complete = most is None or not _missing(household).exists()
        _mark(_name(household), version if complete else UNFINISHED + version, now)
    return complete


def refresh_all(now: datetime) -> None:
    """In steps, so that none keeps others from writing for long."""
    for household in Household.objects.all():
        while not refresh(household, now, STEP):
            pass


def _name(household: Household) -> str:
    return f"household:{household.pk}"


def _version_of(household: Household) -> str:
    rows = ActivityEntry.objects.filter(household=household)
    seen = rows.aggregate(last=Max("pk"), count=Count("pk"))
    now = f"{seen['last']}/{seen['count']}/{last_link(household)}"
    return f"{words_version()} {now}"


def _has_our_words(mark: SearchMark) -> bool:
    """Not those of an older program, by which the terms were others."""
    return mark.made_from.removeprefix(UNFINISHED).startswith(words_version())


@functools.cache
def words_version() -> str:
    return f"{FORM}-{hashlib.sha256(FILE.read_bytes()).hexdigest()[:12]}"


def _changed(household: Household, mark: SearchMark) -> "QuerySet[ServiceRecord]":
    rows = ServiceRecord.objects.for_household(household)
    moment, link = mark.at - LOOK_BACK, int(mark.made_from.rpartition("/")[2])
    if mark.made_from.startswith(UNFINISHED):
        # Thousands just brought in: those of the step before are not made again.
        rows = rows.exclude(entered_at__gte=moment, voided_at=None)
    return rows.filter(changed_since(moment, link), Exists(_text_of_it()))


def _missing(household: Household) -> "QuerySet[ServiceRecord]":
    rows = ServiceRecord.objects.for_household(household)
    return rows.filter(~Exists(_text_of_it())).order_by("-on", "-pk")


def _text_of_it() -> "QuerySet[SearchText]":
    return SearchText.objects.filter(
        kind=SearchKind.RECORD, key=Cast(OuterRef("pk"), CharField())
    )


def _store(texts: Iterable[SearchText]) -> None:
    batch: list[SearchText] = []
    for text in texts:
        batch.append(text)
        if len(batch) == BATCH:
            _upsert(batch)
            batch = []
    _upsert(batch)


def _upsert(texts: list[SearchText]) -> None:
    SearchText.objects.bulk_create(
        texts,
        update_conflicts=True,
        unique_fields=["kind", "key"],
        update_fields=["household", "title", "about", "on", "names", "words"],
    )


def _replace(household: Household, texts: list[SearchText]) -> None:
    _upsert(texts)
    kept = {(text.kind, text.key) for text in texts}
    rows = SearchText.objects.filter(household=household)
    rows = rows.exclude(kind__in=(SearchKind.RECORD, SearchKind.FILE))
    gone = [
        pk
        for pk, kind, key in rows.values_list("pk", "kind", "key")
        if (kind, key) not in kept
    ]
    SearchText.objects.filter(pk__in=gone).delete()


def _mark(of: str, made_from: str, now: datetime) -> None:
    SearchMark.objects.update_or_create(
        of=of, defaults={"made_from": made_from, "at": now}
    )
