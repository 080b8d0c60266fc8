"""A form that somebody else's change overtook: both are shown, and nothing is lost.

The page carries a mark for each field, of what its row said (`form_seen`). When it is
sent, the row is locked and its form built anew: a field whose mark no longer fits was
changed by somebody else, or by the same person on another page.
"""

import hashlib
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django import forms
from django.db.models import Model

from maintenance.ui.words import day_words

FIELD = "form_seen"
MARK = 10  # hexadecimal digits: 40 bits tell two values of one field apart


def seen_in(*shown: forms.BaseForm) -> str:
    """What the fields say, as the page carries it: `name=mark name=mark`."""
    return " ".join(
        f"{form.add_prefix(name)}={mark}"
        for form in shown
        for name, mark in _marks(form).items()
    )


def overtaken(form: forms.BaseForm, now: forms.BaseForm, seen: str) -> dict[str, str]:
    """Field -> what it says now, what was typed and what to do, for each field that
    somebody changed since it was `seen` and that was typed otherwise. `now`: the form
    of the row as it is."""
    before = dict(pair.partition("=")[::2] for pair in seen.split())
    found = {}
    for name, mark in _marks(now).items():
        if name not in form.fields or before.get(now.add_prefix(name)) == mark:
            continue
        typed, theirs = form[name].data, now[name].initial
        if now.fields[name].has_changed(theirs, typed):
            found[name] = (
                f"Someone changed this meanwhile. It now says: {_words(now[name])}. "
                f"You typed: {_typed(now[name], typed)}. Save again to keep yours."
            )
    return found


def show_overtaken(
    typed: Sequence[forms.BaseForm], now: Sequence[forms.BaseForm], seen: str | None
) -> bool:
    """True after putting it at the fields; None was seen where no page of ours was."""
    found = False
    for form, fresh in zip(typed, now, strict=False) if seen is not None else ():
        words = overtaken(form, fresh, seen or "")
        for name, text in words.items():
            form.errors  # noqa: B018  (a form takes an error only once it was checked)
            form.add_error(name, text)
        found = found or bool(words)
    return found


def lock(row: Model) -> None:
    """Until the end of the transaction nobody else saves it from a form."""
    rows = type(row)._base_manager.select_for_update()
    rows.filter(pk=row.pk).values_list("pk").first()


def _marks(form: forms.BaseForm) -> dict[str, str]:
    return {
        name: hashlib.sha256(repr(_plain(form[name].initial)).encode()).hexdigest()[
            :MARK
        ]
        for name, field in form.fields.items()
        if not field.widget.is_hidden and not isinstance(field, forms.FileField)
    }


def _plain(value: Any) -> Any:
    """The same for the same rows, however they were loaded."""
    if isinstance(value, Model):
        return value.pk
    if isinstance(value, Iterable) and not isinstance(value, str | bytes):
        return [_plain(one) for one in value]
    return value


def _words(bound: forms.BoundField) -> str:
    value = bound.initial
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return day_words(value)
    return _typed(bound, _plain(value))


def _typed(bound: forms.BoundField, value: Any) -> str:
    """What was chosen or written, in the words of the page."""
    if isinstance(bound.field, forms.BooleanField):
        return "yes" if value else "no"
    many = value if isinstance(value, list) else [value]
    names = {str(key): str(words) for key, words in _choices(bound.field)}
    said = [names.get(str(one), str(one)) for one in many if one not in {None, ""}]
    return f"“{', '.join(said)[:200]}”" if said else "nothing"


def _choices(field: forms.Field) -> Iterable[tuple[Any, Any]]:
    for key, words in getattr(field, "choices", ()):
        if isinstance(words, list | tuple):
            yield from words
        else:
            yield key, words
