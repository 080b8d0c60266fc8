"""Holding a rig's records and files against its chain, and the chain against a print.

Nothing is changed. Every break names the record, and the field or the file.
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.db.models import Exists, OuterRef, Q
from django.utils.dateparse import parse_datetime

from maintenance.core.chain import Break, Link, breaks, differences, number_in
from maintenance.vehicles.models import Rig

from ..models import Attachment, ChainLink, LinkKind, ServiceRecord
from ..proof import proof_folder
from .content import Content, contents_of, expected, is_cut_moment, is_legible, portions
from .linking import UNDO_FOR
from .words import break_words, change_words, record_words

UNREADABLE = (ValueError, TypeError, ArithmeticError)  # rows that hold no such value


@dataclass(frozen=True, slots=True)
class Mismatch:
    """One thing that does not fit. `position` is the link that shows it, None where it
    is not known which one; `record` is the id of the record it is about."""

    position: int | None
    text: str
    record: int | None = None


@dataclass(frozen=True, slots=True)
class Head:
    """The last link; what a packet prints."""

    position: int
    digest: str

    @property
    def words(self) -> str:
        return f"{self.position}-{self.digest}"

    @property
    def spaced(self) -> str:
        """In groups of eight, as an eye can follow them on paper."""
        groups = (self.digest[n : n + 8] for n in range(0, len(self.digest), 8))
        return f"{self.position} - {' '.join(groups)}"


@dataclass(frozen=True, slots=True)
class Verified:
    """`found` is sorted by the link. `printed` is the link of a printed head that was
    given and found. `waiting` records are not linked yet."""

    head: Head | None
    records: int
    files: int
    waiting: int
    found: tuple[Mismatch, ...]
    printed: int | None = None

    @property
    def holds(self) -> bool:
        return not self.found

    @property
    def holds_up_to_print(self) -> bool:
        """What the print vouches for is as it was then, whatever came later."""
        return self.printed is not None and not any(
            each.position is None or each.position <= self.printed
            for each in self.found
        )


def head_of(rig: Rig) -> Head | None:
    last = ChainLink.objects.filter(rig=rig).order_by("-position").first()
    return Head(last.position, last.digest) if last else None


def verify(rig: Rig, *, printed: str = "") -> Verified:
    """Recompute the chain, the content of every record and the digest of every file.

    `printed` is a head from a packet, as `41-3f0c…` or the digest alone.
    """
    links = list(ChainLink.objects.filter(rig=rig).order_by("position"))
    legible = [link for link in links if is_legible(link)]
    last = {link.record_id: link for link in legible}
    keys, unlinked = _records(rig)
    found = [
        *(_of_chain(each) for each in breaks([_plain(link) for link in links])),
        *_of_texts(links),
        *_of_columns(rig, legible, keys),
        *_of_records(last),
        *_of_order(legible, unlinked),
        *_of_files(last),
    ]
    at, missing = _printed(links, printed)
    found.sort(key=lambda each: (each.position is None, each.position or 0))
    return Verified(
        head=Head(links[-1].position, links[-1].digest) if links else None,
        records=len(last),
        files=sum(len(_files(link)) for link in last.values()),
        waiting=len(unlinked),
        found=(*missing, *found),
        printed=at,
    )


def _plain(link: ChainLink) -> Link:
    return Link(link.position, link.text, link.digest)


def _of_chain(each: Break) -> Mismatch:
    return Mismatch(each.position, break_words(each))


def _of_texts(links: Sequence[ChainLink]) -> Iterator[Mismatch]:
    """Links that say no record, though they be the link that they say they are."""
    for link in links:
        if not is_legible(link) and number_in(link.text) is not None:
            words = (
                "Link %(n)d holds no record that Rigsite can read: it was"
                " changed, or made by a newer version."
            )
            yield Mismatch(link.position, words % {"n": link.position}, link.record_id)


def _of_columns(
    rig: Rig, links: Sequence[ChainLink], keys: Mapping[int, str]
) -> Iterator[Mismatch]:
    """A link is of the rig and the record that its text names."""
    for link in links:
        content, at = link.content, link.record_id
        if link.version == 1:
            is_right = (link.says.get("rig"), content.get("id")) == (rig.pk, at)
        else:
            # A record that is gone has no key; that it is gone is told with it.
            right = (str(rig.row_key), keys.get(at, content.get("key")))
            is_right = (link.says.get("rig"), content.get("key")) == right
        if not is_right:
            words = "Link %(n)d was moved to another record or rig."
            yield Mismatch(link.position, words % {"n": link.position}, link.record_id)


def _records(rig: Rig) -> tuple[dict[int, str], list[tuple[int, datetime]]]:
    """The keys of records of the rig or in its chain, and those of the rig that are in
    none, in the order in which they were entered."""
    links = ChainLink.objects.filter(record=OuterRef("pk"))
    rows = ServiceRecord.objects.filter(
        Q(rig=rig) | Q(Exists(links.filter(rig=rig)))
    ).annotate(linked=Exists(links))
    keys, unlinked = {}, []
    names = ("pk", "row_key", "entered_at", "rig", "linked")
    for pk, key, entered, of, linked in rows.order_by("entered_at", "pk").values_list(
        *names
    ):
        keys[pk] = str(key)
        if of == rig.pk and not linked:
            unlinked.append((pk, entered))
    return keys, unlinked


def _of_records(last: dict[int, ChainLink]) -> Iterator[Mismatch]:
    """Every record as it stands against its last link, in the form of that link."""
    for version in sorted({link.version for link in last.values()}):
        links = {pk: link for pk, link in last.items() if link.version == version}
        try:
            contents = contents_of(links, version)
        except UNREADABLE as error:
            yield Mismatch(None, f"A row can't be read: {error}.")
            continue
        for pk, link in links.items():
            yield from _of_record(link, contents.get(pk))


def _of_record(link: ChainLink, now: Content | None) -> Iterator[Mismatch]:
    if now is None:
        words = f"{record_words(link)} was removed."
        yield Mismatch(link.position, words, link.record_id)
    elif now != link.content:
        for each in differences(expected(link.content, link.version), now):
            if link.version > 1 or not is_cut_moment(each):
                yield Mismatch(link.position, change_words(link, each), link.record_id)


def _of_order(
    links: Sequence[ChainLink], unlinked: Iterable[tuple[int, datetime]]
) -> Iterator[Mismatch]:
    """Records are linked in the order in which they were entered. One that says that it
    is older than what was linked before it was put in later."""
    latest: datetime | None = None
    hurried = _hurried(links)
    for link, entered in _entries(links):
        if _too_old(entered, latest):
            words = (
                "%(record)s was added later, or the clock was wrong then: it says it "
                "was entered before records that come before it in the seal."
            )
            record = {"record": record_words(link)}
            yield Mismatch(link.position, words % record, link.record_id)
        if str(link.says.get("at")) not in hurried:
            # A clock that was ahead says of a record that it came after its own link.
            known = min(entered, _moment(link.says.get("at")) or entered)
            latest = max(known, latest or known)
    for pk, entered in unlinked:
        if _too_old(entered, latest):
            words = (
                "Record %(n)d was added later, or the clock was wrong then: it says it"
                " was entered before sealed records, but it isn't sealed."
            )
            yield Mismatch(None, words % {"n": pk}, pk)


def _entries(links: Iterable[ChainLink]) -> Iterator[tuple[ChainLink, datetime]]:
    """The links of records that were entered, and when that was."""
    for link in links:
        entered = _moment(link.content.get("entered_at"))
        if entered is not None and link.says.get("kind") == LinkKind.ENTERED:
            yield link, entered


def _hurried(links: Iterable[ChainLink]) -> set[str]:
    """The moments of changes while links were of version 1. Then a record was linked
    for its change though older ones waited: so its link says nothing of those."""
    return {
        str(link.says.get("at"))
        for link in links
        if link.version == 1 and link.says.get("kind") != LinkKind.ENTERED
    }


def _too_old(entered: datetime, latest: datetime | None) -> bool:
    # A record that is amended at once is linked before those that are not ripe yet:
    # they were entered up to ten minutes earlier.
    return latest is not None and entered < latest - UNDO_FOR - timedelta(minutes=1)


def _moment(said: object) -> datetime | None:
    """None for what is no moment, or one without a zone."""
    try:
        moment = parse_datetime(str(said))
    except ValueError:
        return None
    return moment if moment and moment.tzinfo else None


# --- files ----------------------------------------------------------------------------


def _files(link: ChainLink) -> list[dict[str, Any]]:
    return link.content["attachments"]


def _of_files(last: dict[int, ChainLink]) -> Iterator[Mismatch]:
    """Every file on disk against the digest in the chain."""
    stored = _stored(last)
    for link in last.values():
        for file in _files(link):
            name = stored.get(str(file.get("key") or file.get("id")))
            if name is None:
                continue  # its row is gone, which is told with the record
            problem = _problem_of(proof_folder() / name, file.get("sha256"))
            if problem:
                words = f"{record_words(link)}, file “{file.get('title')}”: {problem}."
                yield Mismatch(link.position, words, link.record_id)


def _stored(records: Iterable[int]) -> dict[str, str]:
    """Where files lie, by what either version calls them."""
    found: dict[str, str] = {}
    for ids in portions(records):
        rows = Attachment.objects.filter(record__in=ids)
        for pk, key, stored in rows.values_list("pk", "key", "stored"):
            found[str(pk)] = found[str(key)] = stored
    return found


def _problem_of(path: Path, sha256: Any) -> str:
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return "it's missing"
    return "" if digest == sha256 else "it isn't the file that was stored"


# --- a printed head -------------------------------------------------------------------


def _printed(
    links: Sequence[ChainLink], printed: str
) -> tuple[int | None, list[Mismatch]]:
    """At which link a printed head stands, or what is wrong with it."""
    number, digest = read_head(printed)
    if not digest:
        return None, []
    at = {link.digest: link.position for link in links}.get(digest)
    if at is not None and number in {None, at}:
        return at, []
    if number is not None and number > len(links):
        words = (
            f"The printed code is from link {number}, but there are only "
            f"{len(links)}: the end was cut off."
        )
    elif at is not None:
        words = f"The printed code is link {at} here, but {number} on the print."
    else:
        words = (
            "No link has the printed code: the records here aren't the printed ones. "
            "The records or their seal were rewritten."
        )
    return None, [Mismatch(None, words)]


def read_head(text: str) -> tuple[int | None, str]:
    """`41-3f0c …` as a number and a digest; blanks and capitals do not matter."""
    compact = "".join(text.split()).lower()
    number, dash, digest = compact.rpartition("-")
    return (int(number) if dash and number.isdecimal() else None), digest
