"""What the chain says, in words that a user can read."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import FieldDoesNotExist
from django.db.models import Model
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.chain import Break, Difference, Plain
from maintenance.ui.words import day_words

from ..models import ChainLink, ServiceRecord
from .content import PARTS, RAISED

BREAKS = {
    "missing": gettext_lazy("Link %(n)d is missing."),
    "text": gettext_lazy("The text of link %(n)d cannot be read: it was changed."),
    "moved": gettext_lazy("Link %(n)d says it is link %(says)d: links were swapped."),
    "digest": gettext_lazy(
        "Link %(n)d does not follow from the one before it: its text or digest was "
        "changed."
    ),
}
PART_NAMES = {
    "lines": gettext_lazy("job"),
    "torque": gettext_lazy("torque"),
    "torque_places": gettext_lazy("torque at"),
    "supplies": gettext_lazy("supply"),
    "parts_used": gettext_lazy("part"),
    "attachments": gettext_lazy("file"),
}
NAMED_BY = ("title", "name", "place")


def break_words(each: Break) -> str:
    return str(BREAKS[each.kind]) % {"n": each.position, "says": each.says}


def record_words(link: ChainLink) -> str:
    """“Record 12, work on 1 May 2026 (Engine oil)”."""
    content = link.content
    titles = "; ".join(str(line.get("title")) for line in content.get("lines") or [])
    return _("Record %(n)s, work on %(day)s%(titles)s") % {
        "n": link.record_id,
        "day": _day(content.get("on")),
        "titles": f" ({titles})" if titles else "",
    }


def change_words(link: ChainLink, each: Difference) -> str:
    """“Record 12, work on 1 May 2026 (Oil): job “Oil”, note: was “a”, is “b”.”"""
    return f"{record_words(link)}: {difference_words(link.content, each)}."


def difference_words(before: Mapping[str, Any], each: Difference) -> str:
    """“job “Oil”, note: was “a”, is “b””."""
    came, gone = each.was is None, each.now is None
    if str(each.path[0]) in PARTS and len(each.path) == 2 and (came or gone):
        row = each.now if came else each.was
        where = _part_words(each.path, row)
        return (_("%(what)s was added") if came else _("%(what)s was removed")) % {
            "what": where
        }
    return _("%(where)s: was %(was)s, is %(now)s") % {
        "where": where_words(before, each),
        "was": value_words(each.was),
        "now": value_words(each.now),
    }


def where_words(before: Mapping[str, Any], each: Difference) -> str:
    """The field in the words of the form: “job “Oil”, note”."""
    name = str(each.path[0])
    if name not in PARTS:
        return _field_words(ServiceRecord, name, each.path[1:])
    model, _way = PARTS[name]
    rows = {row["id"]: row for row in before.get(name) or []}
    row = rows.get(each.path[1]) if len(each.path) > 1 else None
    words = _part_words(each.path, row)
    if len(each.path) < 3:
        return words
    return f"{words}, {_field_words(model, str(each.path[2]), each.path[3:])}"


def _part_words(path: tuple[str | int, ...], row: Plain) -> str:
    name = str(PART_NAMES[str(path[0])])
    called = row if isinstance(row, Mapping) else {}
    named = next((called[key] for key in NAMED_BY if key in called), None)
    return f"{name} “{named}”" if named is not None else name


def _field_words(model: type[Model], name: str, rest: tuple[str | int, ...]) -> str:
    if name == RAISED:
        return _("what it raised")
    try:
        label = str(getattr(model._meta.get_field(name), "verbose_name", name))
    except FieldDoesNotExist:
        label = name
    return " ".join([label, *(str(part).replace("_", " ") for part in rest)])


def value_words(value: Plain) -> str:
    if value in (None, "", [], {}):
        return _("nothing")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
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
