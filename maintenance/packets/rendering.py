"""Making a packet: claimed by one worker, one at a time on a machine, told as it goes.

The database holds the truth. A worker that dies leaves a claim that runs out within a
minute; the sweep then takes the row again, a few times at most.
"""

import contextlib
import fcntl
import logging
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.disk import make_folder
from maintenance.plans.queries import household_is_stale
from maintenance.plans.standings import renew_household
from maintenance.service_records.chain.linking import link_rig

from .files import packet_folder, path_of
from .history import History, build_history
from .models import Packet, PacketState
from .page import history_page
from .printing import PrintFailed, PrintStopped, PrintTooLong, Progress, print_pdf
from .proof import loader
from .queries import Material, material_of, waiting_packets
from .services import enqueue

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=60)
LIMIT = 600.0  # seconds; under the time limit of a task
MOST_TRIES = 3
TELL_EVERY = 0.7  # seconds

SET_FROM, SET_TO = 30, 90  # percent while pages are being set


def make_packet(
    packet: Packet,
    *,
    today: date,
    print_page: Callable[..., int] = print_pdf,
) -> None:
    """Make it, unless somebody else does or nobody wants it any more.

    While another is being made on this machine, nothing: whoever makes that one calls
    for the next when it is done.
    """
    with _one_at_a_time() as ours:
        if not ours:
            return
        claim = take_claim(packet, today=today)
        if claim is not None:
            _make(claim, print_page)
    following = waiting_packets(timezone.now()).first()
    if following is not None:
        enqueue(following)


@contextlib.contextmanager
def _one_at_a_time() -> Iterator[bool]:
    """Whether this process may print now. The lock goes with the process."""
    folder = packet_folder()
    make_folder(folder)
    with (folder / ".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            yield False
            return
        yield True


@dataclass
class Claim:
    """A packet that is ours to make, for as long as we keep the claim."""

    packet: Packet
    percent: int = 0
    told_at: float = field(default=0.0)

    def keep(self, step: str = "", percent: int = 0) -> bool:
        """Renew the claim and say how far it is; False when it is ours no more."""
        if time.monotonic() - self.told_at < TELL_EVERY:
            return True
        self.told_at = time.monotonic()
        self.percent = max(self.percent, percent)
        news = {"step": step} if step else {}
        return self._set(
            claimed_until=timezone.now() + LEASE, percent=self.percent, **news
        )

    def insist(self, step: str, percent: int) -> None:
        if not self.keep(step, percent):
            raise PrintStopped

    def finish(self, pages: int) -> None:
        path = path_of(self.packet)
        kept = self._set(
            state=PacketState.READY,
            pages=pages,
            size=path.stat().st_size,
            percent=100,
            ready_at=timezone.now(),
            claimed_until=None,
            page="",  # it is on paper now
        )
        if not kept:
            path.unlink(missing_ok=True)

    def fail(self, problem: object) -> None:
        self._set(state=PacketState.FAILED, problem=str(problem), claimed_until=None)

    def _set(self, **values) -> bool:
        held = Packet.objects.filter(
            pk=self.packet.pk,
            state=PacketState.RENDERING,
            claimed_until=self.packet.claimed_until,
        )
        changed = held.update(**values) == 1
        if changed:
            self.packet.claimed_until = values["claimed_until"]
        return changed


def take_claim(packet: Packet, *, today: date) -> Claim | None:
    """Compare and set: of several workers one gets it. It is made as of `today`, which
    is later than asked for when it had to wait over midnight."""
    now = timezone.now()
    taken = waiting_packets(now).filter(pk=packet.pk, tries__lt=MOST_TRIES)
    values = {"claimed_until": now + LEASE, "as_of": today, "percent": 0, "problem": ""}
    if not taken.update(
        state=PacketState.RENDERING, step="", tries=F("tries") + 1, **values
    ):
        return None
    packet.claimed_until, packet.as_of = now + LEASE, today
    return Claim(packet)


def _make(claim: Claim, print_page: Callable[..., int]) -> None:
    packet = claim.packet
    try:
        page, guess = _page(claim)
        pages = print_page(
            page,
            path_of(packet),
            seconds=LIMIT,
            tell=lambda progress: claim.keep(*_words(progress, guess)),
        )
    except PrintStopped:
        log.info("packet %s: stopped", packet.pk)
    except PrintTooLong:
        log.warning("packet %s: not done after %s s", packet.pk, LIMIT)
        claim.fail(_("It took longer than ten minutes and was stopped."))
    except PrintFailed as error:
        log.error("packet %s: %s", packet.pk, error)
        claim.fail(BROKEN)
    except Exception:
        claim.fail(BROKEN)
        raise
    else:
        claim.finish(pages)


BROKEN = gettext_lazy(
    "Printing broke off. Your records are untouched. The reason is in the log; "
    "“manage.py check” tells whether something that printing needs is missing."
)
GIVEN_UP = gettext_lazy(
    "Printing broke off again and again and was given up. Your records are untouched. "
    "The reason may be in the log."
)


def _page(claim: Claim) -> tuple[str, int]:
    """What is to be printed, and on how many pages it will about be."""
    if not claim.packet.is_history:
        return claim.packet.page, 3
    history = _history(claim)
    guess = 4 + sum(len(year.records) for year in history.years) // 7
    return history_page(history), guess


def _history(claim: Claim) -> History:
    packet = claim.packet
    household = packet.rig.household
    claim.insist(_("Reading the records"), 2)
    if household_is_stale(household, packet.as_of):
        renew_household(household, as_of=packet.as_of)
    link_rig(packet.rig, timezone.now())
    material = material_of(packet.rig, packet.as_of)
    return build_history(
        material,
        made_by=packet.asked_by.name if packet.asked_by else "",
        made_at=timezone.now(),
        proof=loader(_told_photos(claim, material)),
    )


def _told_photos(claim: Claim, material: Material) -> Callable[[], None]:
    all_of_them = sum(len(row.attachments.all()) for row in material.records)
    done = 0

    def one_more() -> None:
        nonlocal done
        done += 1
        claim.insist(
            _("Looking at proof: %(done)d of %(all)d")
            % {"done": done, "all": all_of_them},
            5 + 25 * done // all_of_them,
        )

    return one_more


def _words(progress: Progress, guess: int) -> tuple[str, int]:
    """What to say of a step, and how much of the whole is done by it."""
    if progress.word == "page":
        part = min(1.0, progress.number / guess)
        percent = SET_FROM + int((SET_TO - SET_FROM) * part)
        return _("Setting page %(page)d") % {"page": progress.number}, percent
    if progress.word == "writing":
        return _("Writing the PDF"), SET_TO
    return "", 0


def sweep() -> None:
    """Give up what killed its workers, and call for the next that waits."""
    waiting = waiting_packets(timezone.now())
    waiting.filter(tries__gte=MOST_TRIES).update(
        state=PacketState.FAILED, problem=GIVEN_UP, claimed_until=None
    )
    following = waiting_packets(timezone.now()).first()
    if following is not None:
        enqueue(following)
