"""What the chain says, in words that a user can read."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import FieldDoesNotExist, ValidationError

from maintenance.core.chain import Break, Difference, Plain, rows_by_name
from maintenance.ui.words import day_words

from ..models import ChainLink
from .versions import RAISED, RECORD, REFERS, VERSIONS

BREAKS = {
    "missing": "Link %(n)d is missing.",
    "text": "The text of link %(n)d can't be read: it was changed.",
    "moved": "Link %(n)d says it is link %(says)d: links were swapped.",
    "digest": (
        "Link %(n)d doesn't match the one before it: its text or code was changed."
    ),
}
PART_NAMES = {
    "lines": "job",
    "torque": "torque",
    "torque_places": "torque at",
    "supplies": "supply",
    "parts_used": "part",
    "attachments": "file",
}
NAMED_BY = ("title", "name", "place")


def break_words(each: Break) -> str:
    return BREAKS[each.kind] % {"n": each.position, "says": each.says}


def record_words(link: ChainLink) -> str:
    """“Record 12, work on 1 May 2026 (Engine oil)”."""
    content = link.content
    titles = "; ".join(str(line.get("title")) for line in content.get("lines") or [])
    return "Record {n}, work on {day}{titles}".format(
        n=link.record_id,
        day=_day(content.get("on")),
        titles=f" ({titles})" if titles else "",
    )


def change_words(link: ChainLink, each: Difference) -> str:
    """“Record 12, work on 1 May 2026 (Oil): job “Oil”, note: was “a”, is “b”.”"""
    words = difference_words(link.content, each, link.version)
    return f"{record_words(link)}: {words}."


def difference_words(before: Mapping[str, Any], each: Difference, version: int) -> str:
    """“job “Oil”, note: was “a”, is “b””; `before` is a content of that version."""
    came, gone = each.was is None, each.now is None
    if str(each.path[0]) in PART_NAMES and len(each.path) == 2 and (came or gone):
        row = each.now if came else each.was
        where = _part_words(each.path, row)
        return ("%(what)s was added" if came else "%(what)s was removed") % {
            "what": where
        }
    return (
        f"{where_words(before, each, version)}: was "
        f"{_called(each.path, each.was, version)}, is "
        f"{_called(each.path, each.now, version)}"
    )


def where_words(before: Mapping[str, Any], each: Difference, version: int) -> str:
    """The field in the words of the form: “job “Oil”, note”."""
    name = str(each.path[0])
    if name == RAISED:
        return "what it added"
    if name not in PART_NAMES:
        return _field_words(version, RECORD, each.path)
    rows = rows_by_name(before.get(name) or []) or {}
    row = rows.get(each.path[1]) if len(each.path) > 1 else None
    words = _part_words(each.path, row)
    if len(each.path) < 3:
        return words
    return f"{words}, {_field_words(version, name, each.path[2:])}"


def _part_words(path: tuple[str | int, ...], row: Plain) -> str:
    name = PART_NAMES[str(path[0])]
    called = row if isinstance(row, Mapping) else {}
    named = next((called[key] for key in NAMED_BY if key in called), None)
    return f"{name} “{named}”" if named is not None else name


def _field_words(version: int, part: str, path: tuple[str | int, ...]) -> str:
    """The label of the column that is read today, or the name where there is none."""
    name, *rest = map(str, path)
    form = VERSIONS[version][part]
    column = (form.names.get(name) or name).partition("__")[0]
    try:
        label = str(getattr(form.model._meta.get_field(column), "verbose_name", name))
    except FieldDoesNotExist:
        label = name.replace("_", " ")
    return " ".join([label, *(each.replace("_", " ") for each in rest)])


def _called(path: tuple[str | int, ...], value: Plain, version: int) -> str:
    """The value in words: of what it refers to, the name that has today."""
    model = REFERS.get(str(path[-1])) if len(path) in {1, 3} else None
    if model is None or value is None:
        return value_words(value)
    named_by = "pk" if version == 1 else "row_key"
    try:
        row = model._default_manager.filter(**{named_by: value}).first()
    except (ValueError, TypeError, ValidationError):  # it was no number, or no key
        row = None
    return value_words(value if row is None else str(row))


def value_words(value: Plain) -> str:
    if value in (None, "", [], {}):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "; ".join(f"{k} {value_words(v)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(map(value_words, value))
    return f"“{_day(value)}”" if isinstance(value, str) else str(value)


def _day(value: Plain) -> str:
    """A day in words; any other text as it is."""
    try:
        return day_words(date.fromisoformat(str(value)))
    except ValueError:
        return str(value)
