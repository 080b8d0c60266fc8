"""Holding a rig's records and files against its chain, and the chain against a print.

Nothing is changed. Every break names the record, and the field or the file.
"""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from maintenance.core.chain import Break, Link, breaks, differences
from maintenance.vehicles.models import Rig

from ..models import Attachment, ChainLink
from ..proof import proof_folder
from .content import contents_of, filled
from .linking import UNDO_FOR, unlinked
from .words import break_words, change_words, record_words

UNREADABLE = (ValueError, TypeError, ArithmeticError)  # rows that hold no such value


@dataclass(frozen=True, slots=True)
class Found:
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
    found: tuple[Found, ...]
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
    last = {link.record_id: link for link in links if _legible(link)}
    found = [
        *(_of_chain(each) for each in breaks([_plain(link) for link in links])),
        *_of_columns(links),
        *_of_records(rig, last),
        *_of_order(rig, links),
        *_of_files(last),
    ]
    at, missing = _printed(links, printed)
    found.sort(key=lambda each: (each.position is None, each.position or 0))
    waiting = unlinked(rig).count()
    return Verified(
        head=Head(links[-1].position, links[-1].digest) if links else None,
        records=len(last),
        files=sum(len(_files(link)) for link in last.values()),
        waiting=waiting,
        found=(*missing, *found),
        printed=at,
    )


def _plain(link: ChainLink) -> Link:
    return Link(link.position, link.text, link.digest)


def _legible(link: ChainLink) -> bool:
    """Whether its text can be read as a record."""
    try:
        return isinstance(link.content, dict)
    except (ValueError, KeyError, TypeError):
        return False


def _of_chain(each: Break) -> Found:
    return Found(each.position, break_words(each))


def _of_columns(links: Sequence[ChainLink]) -> Iterator[Found]:
    """A link is of the rig and the record that its text names."""
    for link in links:
        if not _legible(link):
            continue
        says = (link.says.get("rig"), link.content.get("id"))
        if says != (link.rig_id, link.record_id):
            words = _("Link %(n)d was put under another record or rig.")
            yield Found(link.position, words % {"n": link.position}, link.record_id)


def _of_records(rig: Rig, last: dict[int, ChainLink]) -> Iterator[Found]:
    """Every record as it stands against its last link."""
    try:
        contents = contents_of(last)
    except UNREADABLE as error:
        yield Found(None, _("A row cannot be read: %(error)s.") % {"error": error})
        return
    for pk, link in last.items():
        now = contents.get(pk)
        if now is None:
            words = _("%(record)s was removed.") % {"record": record_words(link)}
            yield Found(link.position, words, pk)
        elif now != link.content:
            for each in differences(filled(link.content), now):
                yield Found(link.position, change_words(link, each), pk)


def _of_order(rig: Rig, links: Sequence[ChainLink]) -> Iterator[Found]:
    """Records are linked in the order in which they were entered. One that says that it
    is older than what was linked before it was put in later."""
    latest: datetime | None = None
    for link in filter(_legible, links):
        entered = _moment(link.content.get("entered_at"))
        if entered is None or link.says.get("kind") != "entered":
            continue
        if _too_old(entered, latest):
            words = _(
                "%(record)s was put in later, or the clock was wrong then: it says it "
                "was entered before records that stand before it in the chain."
            )
            record = {"record": record_words(link)}
            yield Found(link.position, words % record, link.record_id)
        # A clock that was ahead says of a record that it came after its own link.
        entered = min(entered, _moment(link.says.get("at")) or entered)
        latest = max(entered, latest or entered)
    for pk, entered in unlinked(rig).values_list("pk", "entered_at"):
        if _too_old(entered, latest):
            words = _(
                "Record %(n)d was put in later, or the clock was wrong then: it says it"
                " was entered before records that are in the chain, and is not in it."
            )
            yield Found(None, words % {"n": pk}, pk)


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
    return link.content.get("attachments") or []


def _of_files(last: dict[int, ChainLink]) -> Iterator[Found]:
    """Every file on disk against the digest in the chain."""
    stored = dict(
        Attachment.objects.filter(record__in=last).values_list("pk", "stored")
        if len(last) < 500
        else Attachment.objects.filter(record__isnull=False).values_list("pk", "stored")
    )
    for link in last.values():
        for file in _files(link):
            if file["id"] not in stored:
                continue  # its row is gone, which is told with the record
            problem = _problem_of(proof_folder() / stored[file["id"]], file["sha256"])
            if problem:
                words = _("%(record)s, file “%(file)s”: %(problem)s.") % {
                    "record": record_words(link),
                    "file": file["title"],
                    "problem": problem,
                }
                yield Found(link.position, words, link.record_id)


def _problem_of(path: Path, sha256: str) -> str:
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return _("it is missing")
    return "" if digest == sha256 else _("it is not the file that was stored")


# --- a printed head -------------------------------------------------------------------


def _printed(
    links: Sequence[ChainLink], printed: str
) -> tuple[int | None, list[Found]]:
    """At which link a printed head stands, or what is wrong with it."""
    number, digest = read_head(printed)
    if not digest:
        return None, []
    at = {link.digest: link.position for link in links}.get(digest)
    if at is not None and number in {None, at}:
        return at, []
    if number is not None and number > len(links):
        words = _(
            "The printed head is that of link %(n)d, and the chain has %(count)d: its "
            "end was cut off."
        ) % {"n": number, "count": len(links)}
    elif at is not None:
        words = _("The printed head is link %(at)d here, and %(n)d on the print.") % {
            "at": at,
            "n": number,
        }
    else:
        words = _(
            "No link has the printed digest: what was printed is not what stands here. "
            "The records or their chain were rewritten."
        )
    return None, [Found(None, words)]


def read_head(text: str) -> tuple[int | None, str]:
    """`41-3f0c …` as a number and a digest; blanks and capitals do not matter."""
    compact = "".join(text.split()).lower()
    number, dash, digest = compact.rpartition("-")
    return (int(number) if dash and number.isdecimal() else None), digest
