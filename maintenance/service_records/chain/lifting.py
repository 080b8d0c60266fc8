"""Contents of older versions brought into a newer form, to be compared with it."""

from collections import defaultdict
from collections.abc import Iterator

from django.db.models import Model

from .content import Content
from .versions import RAISED, RECORD, REFERS, VERSIONS, Part, newest


def without_later_names(newer: Content, older: Content) -> Content:
    """The newer content without the names of which the older one says nothing."""
    rows = {
        name: {row.get("key"): row for row in value}
        for name, value in older.items()
        if isinstance(value, list) and name in VERSIONS[newest()]
    }
    whole = {name: value for name, value in newer.items() if name in older}
    for name, known in rows.items():
        whole[name] = [
            _only(row, known.get(row.get("key"), row)) for row in newer.get(name) or []
        ]
    return whole


def _only(row: Content, like: Content) -> Content:
    return {name: value for name, value in row.items() if name in like}


Number = tuple[type[Model], int]  # of a row
Keys = dict[Number, str]


def lifted(content: Content, version: int, to: int) -> Content:
    """The content with the names of a newer version; of names that came later and of
    which the version does not say what they held before, it says nothing."""
    if version == 1 < to:
        content, version = _with_keys(content), 2
    whole = VERSIONS[to][RECORD].before | content
    for name in VERSIONS[to].keys() - {RECORD}:
        before = VERSIONS[to][name].before
        whole[name] = [before | row for row in content.get(name) or []]
    return whole


def _with_keys(content: Content) -> Content:
    """Version 2 of a content of version 1. What is gone has no key any more."""
    keys = _keys_of(content)
    whole = _row_with_keys(VERSIONS[2][RECORD], content, keys)
    for name, part in _parts():
        rows = content.get(name) or []
        whole[name] = [_row_with_keys(part, row, keys) for row in rows]
    whole[RAISED] = content.get(RAISED) or []
    return whole


def _parts() -> Iterator[tuple[str, Part]]:
    """Those whose rows have a number and a key, the record's own aside."""
    for name, part in VERSIONS[2].items():
        if name not in {RECORD, RAISED}:
            yield name, part


def _row_with_keys(part: Part, row: Content, keys: Keys) -> Content:
    whole = {name: row[name] for name in part.names if name in row}
    for name, at in _numbers_in(part, row):
        whole[name] = keys.get(at, f"number {at[1]}")
    return whole


def _numbers_in(part: Part, row: Content) -> Iterator[tuple[str, Number]]:
    """The names of version 2 for which version 1 has a number."""
    for name in part.names:
        own = name == "key"
        model = part.model if own else REFERS.get(name)
        number = row.get("id" if own else name)
        if model is not None and isinstance(number, int):
            yield name, (model, number)


def _keys_of(content: Content) -> Keys:
    record = VERSIONS[2][RECORD]
    rows = [(part, row) for name, part in _parts() for row in content.get(name) or []]
    wanted: dict[type[Model], set[int]] = defaultdict(set)
    for part, row in [(record, content), *rows]:
        for _name, (model, number) in _numbers_in(part, row):
            wanted[model].add(number)
    columns = {part.model: str(part.names["key"]) for _name, part in _parts()}
    found: Keys = {}
    for model, numbers in wanted.items():
        of_model = model._default_manager.filter(pk__in=numbers)
        keys = of_model.values_list("pk", columns.get(model, "row_key"))
        found |= {(model, pk): str(key) for pk, key in keys}
    return found
