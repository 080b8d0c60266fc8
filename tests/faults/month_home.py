"""The household of the month, what is done to it, and what must come of it."""

from datetime import date, datetime, timedelta

from maintenance.households.models import Household, Member
from maintenance.plans.day_change import renew_behind
from maintenance.reminders.models import Digest, DigestState, Notice
from maintenance.reminders.services import make_digests, raise_everywhere, send_waiting
from tests import builders
from tests.faults.mailbox import Mailbox

DAY = timedelta(days=1)


def set_up(people: int, first: date, days: int) -> None:
    """Each day of the month one more item becomes overdue, so each day has its mail."""
    Household.objects.all().delete()
    home = builders.make_household()
    for _ in range(people):
        builders.make_member(home)
    rig = builders.make_rig(home)
    for n in range(days):
        closed = first + (n - 1) * DAY
        builders.make_item(
            rig,
            f"item{n}",
            baseline="stated",
            baseline_on=closed.replace(year=closed.year - 1),
        )


def one_step(now: datetime) -> None:
    """What beat has the worker do, at this moment; at the end what a crash left and
    what is to be tried again."""
    renew_behind(now)
    raise_everywhere(now)
    make_digests(now)
    send_waiting(now)


def checked(box: Mailbox, people: int, first: date, days: int) -> dict[str, int]:
    """Raises AssertionError where something was lost or doubled."""
    one_step_later = first + days * DAY
    digests = list(Digest.objects.filter(key__startswith="digest:"))
    wanted = {
        (member.pk, first + n * DAY)
        for member in Member.objects.all()
        for n in range(days)
    }
    assert {(d.member_id, d.day) for d in digests} == wanted, "a day without its digest"
    assert len(digests) == len(wanted) == people * days
    told = [d for d in digests if d.state == DigestState.SENT]
    for digest in told:
        assert digest.message_id in box.taken, f"{digest} says sent, nobody has it"
    known = {digest.message_id for digest in Digest.objects.all()}
    assert set(box.taken) <= known, "a mail that no row knows"
    assert all(len(bodies) == 1 for bodies in box.bodies.values()), "one ID, two texts"
    _every_item_told(first, days, one_step_later)
    return {
        "digests": len(digests),
        "mails taken": len(box.taken),
        "repeated as the same mail": sum(n - 1 for n in box.doubled.values()),
        "taken into a later digest": sum(
            d.state == DigestState.FOLDED for d in digests
        ),
    }


def _every_item_told(first: date, days: int, until: date) -> None:
    """What became overdue was told to each person by a mail that went out, but for what
    the last evening's trouble holds back."""
    for member in Member.objects.all():
        for n in range(days - 1):
            rows = Notice.objects.filter(
                member=member, stage="overdue", item__key=f"item{n}"
            )
            sent = rows.filter(digest__state=DigestState.SENT)
            waits = rows.filter(digest__state__in=["queued", "unknown", "sending"])
            assert sent.exists() or waits.exists(), f"item{n} was lost for {member}"
