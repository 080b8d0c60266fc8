"""Records chained by SHA-256, so that a change behind the program's back is seen.

A stranger can recompute it. The text of a link is JSON: keys sorted, no blanks, UTF-8
with no escapes but those that JSON asks for, every text in NFC (Unicode Annex 15), days
and moments in ISO 8601 (moments in UTC, to the microsecond), decimals as text without
trailing zeros, keys of rows as RFC 9562 writes a UUID, no floating point. The digest of
link n is SHA-256 (FIPS 180-4), in lower-case hex, of the UTF-8 bytes of: the digest of
link n - 1, a line feed, the text of link n. Before the first link stand 64 zeros.
"""

import hashlib
import json
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

BEFORE_FIRST = "0" * 64

# What a canonical text is made of.
Plain = None | bool | int | str | Sequence["Plain"] | Mapping[str, "Plain"]


class ChainError(ValueError):
    """A value that has no canonical form, or a text that is none."""


def plain(value: object) -> Plain:
    """A value as the canonical text holds it.

    Raises ChainError for a float, a moment without a zone, and any other kind.
    """
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, str):
        # ASCII is in NFC already; most texts are, and a chain has very many.
        return value if value.isascii() else unicodedata.normalize("NFC", value)
    if isinstance(value, Decimal | date):
        return _figure_or_day(value)
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, Mapping):
        return {_key(key): plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain(part) for part in value]
    raise ChainError(f"{value!r} has no canonical form")


def _key(key: object) -> str:
    if not isinstance(key, str):
        raise ChainError(f"{key!r} is no text, so it cannot name anything")
    return unicodedata.normalize("NFC", key)


def _figure_or_day(value: Decimal | date) -> str:
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise ChainError(f"{value} is no number")
        text = f"{value:f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text == "-0" else text
    if isinstance(value, datetime):
        if value.tzinfo is None:
            raise ChainError(f"{value} has no time zone")
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    return value.isoformat()


def canonical(content: Mapping[str, object]) -> str:
    """The one text of a content. Raises ChainError as `plain` does."""
    return text_of(plain(content))


def text_of(content: Plain) -> str:
    """The one text of what is plain already."""
    return json.dumps(
        content, sort_keys=True, ensure_ascii=False, separators=(",", ":")
    )


def digest_of(before: str, text: str) -> str:
    """The digest of a link, in hex, from that of the link before it and its text."""
    return hashlib.sha256(f"{before}\n{text}".encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Link:
    position: int  # from 1
    text: str
    digest: str


@dataclass(frozen=True, slots=True)
class Break:
    """Where a chain does not hold. `kind`: `missing` (no link at this position),
    `text` (no canonical text), `moved` (the link says that it is another), `digest`
    (its text or digest does not follow from the digest before it)."""

    position: int
    kind: str
    says: int = 0  # of a moved link: which one it says it is


def breaks(links: Sequence[Link]) -> Iterator[Break]:
    """All breaks of a chain whose links are sorted by position, in that order.

    Each link is held against the digest stored before it, so that one change gives one
    break and not one for every link behind it.
    """
    before, expected = BEFORE_FIRST, 1
    for link in links:
        gap = range(expected, link.position)
        yield from (Break(position, "missing") for position in gap)
        found = _break_of(link, before)
        # What followed a missing link cannot be held against anything.
        if found and not (gap and found.kind == "digest"):
            yield found
        before, expected = link.digest, link.position + 1


def _break_of(link: Link, before: str) -> Break | None:
    says = number_in(link.text)
    if says is None:
        return Break(link.position, "text")
    if says != link.position:
        return Break(link.position, "moved", says)
    if digest_of(before, link.text) != link.digest:
        return Break(link.position, "digest")
    return None


def first_break(links: Sequence[Link]) -> Break | None:
    return next(breaks(links), None)


def number_in(text: str) -> int | None:
    """The position that a link's text names, or None if it is no such text."""
    try:
        content = json.loads(text)
    except ValueError:
        return None
    number = content.get("link") if isinstance(content, dict) else None
    return number if isinstance(number, int) else None


# --- what differs between two contents ------------------------------------------------


@dataclass(frozen=True, slots=True)
class Difference:
    """`path` leads to the value: names of fields, and what names a row in a list: its
    `key`, or its `id`. A row that came or went has None as what it was or is."""

    path: tuple[str | int, ...]
    was: Plain
    now: Plain


def differences(was: Plain, now: Plain) -> Iterator[Difference]:
    """Value by value, in the order of the names; rows are matched by their `key`
    or, without one, their `id`."""
    return _differences((), was, now)


def _differences(
    path: tuple[str | int, ...], was: Plain, now: Plain
) -> Iterator[Difference]:
    if isinstance(was, Mapping) and isinstance(now, Mapping):
        for name in sorted(was.keys() | now.keys()):
            yield from _differences((*path, name), was.get(name), now.get(name))
        return
    old, new = rows_by_name(was), rows_by_name(now)
    if old is None or new is None:
        if was != now or type(was) is not type(now):
            yield Difference(path, was, now)
        return
    for row in [*old, *(row for row in new if row not in old)]:
        yield from _differences((*path, row), old.get(row), new.get(row))


def rows_by_name(value: Plain) -> dict[str | int, Plain] | None:
    """The rows of a list by what names them; None for what is not a list of rows."""
    if isinstance(value, str) or not isinstance(value, Sequence):
        return None
    rows: dict[str | int, Plain] = {}
    for row in value:
        name = row.get("key", row.get("id")) if isinstance(row, Mapping) else None
        if not isinstance(name, int | str):
            return None
        rows[name] = row
    return rows
