"""Making a packet: one at a time on a machine, told as it goes."""

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from maintenance.households.refusals import Refused
from maintenance.jobs.lease import Claim, Stopped
from maintenance.jobs.services import call_waiting
from maintenance.jobs.slot import slot
from maintenance.packets.history.build import build_history
from maintenance.packets.history.model import History
from maintenance.plans.queries import household_is_stale
from maintenance.plans.standings import renew_household
from maintenance.service_records.chain.linking import link_rig

from .files import packet_folder, path_of
from .models import Packet, PacketState
from .page import history_page
from .printing import PrintFailed, PrintStopped, PrintTooLong, Progress, print_pdf
from .proof import loader
from .queries import Material, material_of

log = logging.getLogger(__name__)

LIMIT = 600.0  # seconds; under the time limit of a task
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
    with slot(packet_folder() / ".lock") as ours:
        if not ours:
            return
        claim = take_claim(packet, today=today)
        if claim is not None:
            with claim.at_work():
                _make(claim, print_page)
    call_waiting(Packet)


@dataclass
class PrintClaim(Claim[Packet]):
    percent: int = 0
    told_at: float = 0.0

    def tell(self, step: str = "", percent: int = 0) -> bool:
        """Keep the claim and say how far it is; False when it is ours no more."""
        if time.monotonic() - self.told_at < TELL_EVERY:
            return True
        self.told_at = time.monotonic()
        self.percent = max(self.percent, percent)
        news = {"step": step} if step else {}
        return self.keep(percent=self.percent, **news)

    def insist(self, step: str, percent: int) -> None:
        if not self.tell(step, percent):
            raise Stopped


def take_claim(packet: Packet, *, today: date) -> PrintClaim | None:
    """It is made as of `today`, which is later than asked for when it had to wait over
    midnight."""
    packet.as_of = today
    return PrintClaim.take(packet, as_of=today, percent=0, step="")


def _make(claim: PrintClaim, print_page: Callable[..., int]) -> None:
    page, guess = _page(claim)
    path = path_of(claim.job)
    try:
        pages = print_page(
            page,
            path,
            seconds=LIMIT,
            tell=lambda progress: claim.tell(*_words(progress, guess)),
        )
    except PrintStopped as stop:
        raise Stopped from stop
    except PrintTooLong:
        log.warning("packet %s: not done after %s s", claim.job.pk, LIMIT)
        raise Refused("It took longer than ten minutes and was stopped.") from None
    except PrintFailed as error:
        log.error("packet %s: %s", claim.job.pk, error)
        raise Refused(Packet.BROKEN) from error
    kept = claim.end(
        PacketState.READY,
        pages=pages,
        size=path.stat().st_size,
        percent=100,
        ready_at=timezone.now(),
        page="",  # it is on paper now
    )
    if not kept:
        path.unlink(missing_ok=True)


def _page(claim: PrintClaim) -> tuple[str, int]:
    """What is to be printed, and on how many pages it will about be."""
    if not claim.job.is_history:
        return claim.job.page, 3
    history = _history(claim)
    guess = 4 + sum(len(year.records) for year in history.years) // 7
    return history_page(history), guess


def _history(claim: PrintClaim) -> History:
    packet = claim.job
    household = packet.rig.household
    claim.insist("Reading the records", 2)
    today = household.today(timezone.now())  # it may have been asked for yesterday
    if household_is_stale(household, today):
        renew_household(household, as_of=today)
    link_rig(packet.rig, timezone.now())
    material = material_of(packet.rig, packet.as_of)
    with household.at_home():
        return build_history(
            material,
            made_by=packet.asked_by.name if packet.asked_by else "",
            made_at=timezone.now(),
            proof=loader(_told_photos(claim, material)),
        )


def _told_photos(claim: PrintClaim, material: Material) -> Callable[[], None]:
    all_of_them = sum(len(row.attachments.all()) for row in material.records)
    done = 0

    def one_more() -> None:
        nonlocal done
        done += 1
        claim.insist(
            f"Looking at proof: {done} of {all_of_them}",
            5 + 25 * done // all_of_them,
        )

    return one_more


def _words(progress: Progress, guess: int) -> tuple[str, int]:
    """What to say of a step, and how much of the whole is done by it."""
    if progress.word == "page":
        part = min(1.0, progress.number / guess)
        percent = SET_FROM + int((SET_TO - SET_FROM) * part)
        return f"Setting page {progress.number}", percent
    if progress.word == "writing":
        return "Writing the PDF", SET_TO
    return "", 0
