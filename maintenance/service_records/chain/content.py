"""What a record consists of, read straight from the rows of the database."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any
from uuid import UUID

from maintenance.core.chain import ChainError, Difference, Plain, plain

from ..models import ChainLink, ServiceRecord
from .versions import RECORD, VERSIONS, Names, Part, newest

Content = dict[str, Any]

# Ids in one query (SQLite takes 32,766 at most), and so rows held at once.
PORTION = 1000


def contents_of(
    records: Iterable[int], version: int | None = None
) -> dict[int, dict[str, Plain]]:
    """Record id -> its content as it stands, in the form of a version (the newest, if
    none is named); the queries grow by each thousand of records alone.

    With what came later than the version, so that nobody writes into it unseen.
    """
    found: dict[int, Content] = {}
    for ids in portions(records):
        found |= _portion(ids, version or newest())
    return found


def content_of(record: ServiceRecord) -> dict[str, Plain]:
    return contents_of([record.pk])[record.pk]


def portions(ids: Iterable[int]) -> Iterator[list[int]]:
    whole = list(ids)
    for start in range(0, len(whole), PORTION):
        yield whole[start : start + PORTION]


def _portion(ids: list[int], version: int) -> dict[int, Content]:
    form = VERSIONS[version]
    found = dict(_rows(form[RECORD], _held(version, RECORD), ids))
    for name, part in form.items():
        if name == RECORD:
            continue
        for content in found.values():
            content[name] = []
        for pk, row in _rows(part, _held(version, name), ids):
            if pk in found:
                found[pk][name].append(row)
    return found


def _rows(
    part: Part, names: Names, ids: Sequence[int]
) -> Iterator[tuple[int, Content]]:
    """The rows of records, each with the id of its record."""
    columns = {name: lookup for name, lookup in names.items() if lookup is not None}
    of_records = {f"{part.way}__in": ids}
    rows = part.model._default_manager.filter(**of_records, **part.only)
    rows = rows.order_by(*part.order)
    for pk, *row in rows.values_list(part.way, *columns.values()).iterator():
        yield pk, dict(zip(columns, map(legible, row), strict=True))


def _held(version: int, name: str) -> Names:
    """The names of a version's part, and those of later ones of which it is known what
    they held before."""
    last = VERSIONS[newest()][name]
    later = {each: last.names[each] for each in last.before}
    return {**later, **VERSIONS[version][name].names}


def legible(value: object) -> Plain:
    """The canonical value; of what has none (a float, say, put there from outside) what
    it looks like, so that it differs from all that the program writes."""
    if value is None or type(value) is int or (type(value) is str and value.isascii()):
        return value
    if type(value) is UUID:
        return str(value)
    try:
        return plain(value)
    except ChainError:
        return repr(value)


def expected(linked: Content, version: int) -> Content:
    """A linked content as `contents_of` reads it where nothing was changed: without
    what is read no more, and with what came later as it was before."""
    whole = _fitted(linked, version, RECORD)
    for name in VERSIONS[version].keys() - {RECORD}:
        whole[name] = [_fitted(row, version, name) for row in linked.get(name) or []]
    return whole


def _fitted(row: Content, version: int, name: str) -> Content:
    names = _held(version, name)
    whole = VERSIONS[newest()][name].before | row
    return {key: value for key, value in whole.items() if names.get(key, key)}


def is_legible(link: ChainLink) -> bool:
    """Whether its text can be read as a record, in a form that is known."""
    try:
        content, form = link.content, VERSIONS[link.version]
        rows = [row for name in form.keys() - {RECORD} for row in content[name]]
    except (ValueError, KeyError, TypeError, AttributeError):
        return False
    return isinstance(content, dict) and all(isinstance(row, dict) for row in rows)


MOMENTS = {"entered_at", "voided_at", "added_at"}


def is_cut_moment(each: Difference) -> bool:
    """Whether the only difference is that a moment lost its microseconds: the portable
    backups that were made when links were of version 1 kept milliseconds."""
    if each.path[-1] not in MOMENTS or not isinstance(each.was, str):
        return False
    milliseconds = len("2026-05-01T12:00:00.123")
    rest = each.was[milliseconds:]
    return rest[3:] == "+00:00" and each.now == f"{each.was[:milliseconds]}000+00:00"
