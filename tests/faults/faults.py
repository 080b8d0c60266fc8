"""Each fault: what is done to the program, and what must have come of it."""

import contextlib
import http.client
import json
import threading
import time
from collections.abc import Iterator
from datetime import timedelta
from urllib.parse import urlencode

from django.contrib.auth import get_user_model
from django.core import signing
from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import F
from django.utils import timezone

from maintenance.households.models import Household, Member
from maintenance.plans.models import Standing
from maintenance.plans.standings import recheck, renew_household
from maintenance.reminders.models import Digest, DigestState, SweepMark
from maintenance.reminders.services import make_digest, raise_notices, sweep
from maintenance.reminders.stop_links import SALT
from rigsite.celery import app
from rigsite.children import Child
from tests import builders
from tests.faults.house import House
from tests.faults.table import Fault, process_fault
from tests.servers import PATIENCE, wait_for

SEND = "maintenance.reminders.tasks.send_digest"


def set_up() -> None:
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)


def prepare(house: House) -> None:
    if house.own_broker:
        house.start_broker()
    house.start_worker()


def outcome(fault: Fault, house: House) -> str:
    """Strike, and see to it that the next fault does not suffer from this one."""
    box = house.mailbox
    box.taken.clear()
    box.bodies.clear()
    Household.objects.all().delete()
    get_user_model().objects.all().delete()
    try:
        return fault.strike(house)
    finally:
        box.hold = box.silent = False
        box.at_data, box.at_recipient, box.before_answer = [], [], None
        for child in house.family.children:
            if child.name == "beat" and not child.dead:
                house.kill(child)
        if fault.on == "processes" and not _workers(house):
            house.start_worker()


# --- what every fault uses ------------------------------------------------------------


def a_home() -> Member:
    """Somebody with an item that is overdue, and no digest yet."""
    member = builders.make_member(email="robin@example.org", digest_hour=0)
    rig = builders.make_rig(member.household)
    today = member.household.today(timezone.now())
    builders.make_item(
        rig, baseline="stated", baseline_on=today - timedelta(days=400), taken_on=today
    )
    renew_household(member.household, as_of=today)
    return member


def a_mail() -> Digest:
    """The digest of today, made as the job makes it: it goes to the worker at once."""
    member = a_home()
    today = member.household.today(timezone.now())
    raise_notices(member.household, today=today)
    digest = make_digest(member, day=today)
    assert digest is not None
    return digest


def state(digest: Digest) -> str:
    digest.refresh_from_db()
    return digest.state


def wait_for_state(digest: Digest, *states: str) -> None:
    wait_for(lambda: state(digest) in states, what=f"mail {states}")


def hours_pass() -> None:
    """As the clock would: claims run out, and it is time to try again."""
    hours = timedelta(hours=12)
    Digest.objects.update(
        claimed_until=F("claimed_until") - hours,
        next_attempt_at=F("next_attempt_at") - hours,
    )
    sweep(timezone.now())


def sent_once(house: House, digest: Digest) -> str:
    wait_for_state(digest, DigestState.SENT)
    assert house.mailbox.taken == [digest.message_id], house.mailbox.taken
    return "sent once"


def sent_again_as_the_same(house: House, digest: Digest) -> str:
    wait_for_state(digest, DigestState.SENT)
    taken = house.mailbox.taken
    assert taken == [digest.message_id] * 2, taken
    assert len(house.mailbox.bodies[digest.message_id]) == 1, "another text"
    return "repeated once, the same mail under the same Message-ID"


@contextlib.contextmanager
def locked_database() -> Iterator[None]:
    """Nobody else can write: SQLite's one writer, PostgreSQL's lock on the table."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("LOCK TABLE reminders_digest IN SHARE MODE")
                cursor.execute("LOCK TABLE households_member IN SHARE MODE")
        yield


# --- killed ---------------------------------------------------------------------------


@process_fault("worker killed before the server's answer")
def worker_before_the_answer(house: House) -> str:
    house.mailbox.hold = True
    digest = a_mail()
    wait_for(lambda: house.mailbox.taken, what="mail at the server")
    house.kill(_worker(house))
    house.mailbox.hold = False
    assert state(digest) == DigestState.SENDING
    house.start_worker()
    sweep(timezone.now())  # the claim still stands: nobody touches it
    time.sleep(1)
    assert len(house.mailbox.taken) == 1
    hours_pass()
    return sent_again_as_the_same(house, digest)


@process_fault("worker killed after the server's answer")
def worker_after_the_answer(house: House) -> str:
    """The answer is there, but to store it the worker waits for a locked database."""
    locked, over = threading.Event(), threading.Event()

    def lock() -> None:
        with locked_database():
            locked.set()
            over.wait(PATIENCE)
        connection.close()

    holder = threading.Thread(target=lock)

    def lock_first() -> None:
        holder.start()
        locked.wait(PATIENCE)

    house.mailbox.before_answer = lock_first
    digest = a_mail()
    wait_for(locked.is_set, what="mail at the server")
    time.sleep(1)  # the answer goes out, the worker waits
    house.kill(_worker(house))
    over.set()
    holder.join()
    time.sleep(1)
    left = state(digest)
    house.start_worker()
    hours_pass()
    if connection.vendor == "postgresql" and left == DigestState.SENT:
        return f"{sent_once(house, digest)}: the database had the mark already"
    assert left == DigestState.SENDING, left
    return sent_again_as_the_same(house, digest)


@process_fault("beat killed")
def beat_killed(house: House) -> str:
    member = a_home()
    SweepMark.objects.all().delete()
    first = house.start_beat()
    wait_for(lambda: SweepMark.objects.filter(name="sweep"), what="sweep")
    house.kill(first)
    second = house.start_beat()
    wait_for(lambda: house.mailbox.taken, what="mail")
    time.sleep(3)
    house.stop(second)
    return _one_digest(house, member)


@process_fault("two beats at once")
def two_beats(house: House) -> str:
    member = a_home()
    beats = [house.start_beat(), house.start_beat()]
    wait_for(lambda: house.mailbox.taken, what="mail")
    time.sleep(3)
    for child in beats:
        house.stop(child)
    return _one_digest(house, member)


def _one_digest(house: House, member: Member) -> str:
    digest = Digest.objects.get(member=member)
    return f"one digest, {sent_once(house, digest)}"


@process_fault("broker killed or emptied")
def broker_killed(house: House) -> str:
    if not house.own_broker:
        return _without_broker(house, _unreachable_broker())
    child = next(c for c in house.family.children if c.name == "broker" and not c.dead)
    return _without_broker(house, _killed_broker(house, child))


@contextlib.contextmanager
def _killed_broker(house: House, child: object) -> Iterator[None]:
    house.kill(child)  # type: ignore[arg-type]
    yield
    house.start_broker()


@contextlib.contextmanager
def _unreachable_broker() -> Iterator[None]:
    """A Redis of others is not ours to kill: its server forgets everything it had."""
    yield
    with app.connection_for_write() as link:
        link.default_channel.client.flushall()


def _without_broker(house: House, gone: contextlib.AbstractContextManager[None]) -> str:
    house.mailbox.hold = False
    with gone:
        digest = a_mail()
        assert state(digest) in {DigestState.QUEUED, DigestState.SENT}
    sweep(timezone.now())

    def sent_by_now() -> bool:
        """The worker finds the new broker; the sweep calls again."""
        time.sleep(1)
        sweep(timezone.now())
        return state(digest) == DigestState.SENT

    wait_for(sent_by_now, what="mail")
    return sent_once(house, digest)


@process_fault("web server killed during a change")
def web_killed(house: House) -> str:
    """In the middle of a change: nothing of it is stored, and it can be made again."""
    member = a_home()
    token = signing.Signer(salt=SALT).sign(str(member.pk))
    child, port = house.start_web()
    wait_for(lambda: _get(port) is not None, what="web server")
    with locked_database():
        asking = threading.Thread(target=_post, args=(port, token))
        asking.start()
        time.sleep(1)
        house.kill(child)
        asking.join()
    member.refresh_from_db()
    assert member.wants_mail, "half a change was stored"
    child, port = house.start_web()
    wait_for(lambda: _get(port) is not None, what="web server")
    assert _post(port, token) == 200
    house.stop(child)
    member.refresh_from_db()
    assert not member.wants_mail
    return "nothing half stored, the change made anew"


def _get(port: int) -> int | None:
    return _ask(port, "GET", "/login/")


def _post(port: int, token: str) -> int | None:
    return _ask(port, "POST", f"/mail/stop/{token}/", {"List-Unsubscribe": "One-Click"})


def _ask(
    port: int, method: str, path: str, fields: dict[str, str] | None = None
) -> int | None:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    head = {"Content-Type": "application/x-www-form-urlencoded"}
    with contextlib.closing(link):
        try:
            link.request(method, path, urlencode(fields or {}), head)
            return link.getresponse().status
        except (OSError, http.client.HTTPException):
            return None


# --- mail servers ---------------------------------------------------------------------


@process_fault("mail server refuses connections")
def refuses_connections(house: House) -> str:
    house.mailbox.stop()
    digest = a_mail()
    wait_for(lambda: state(digest) == "queued" and digest.problem, what="the refusal")
    assert "No mail server" in digest.problem, digest.problem
    house.mailbox.start()
    hours_pass()
    return sent_once(house, digest)


@process_fault("mail server refuses the mail for good")
def refuses_for_good(house: House) -> str:
    house.mailbox.at_data = ["554 5.7.1 Not from here"]
    digest = a_mail()
    wait_for_state(digest, DigestState.REFUSED)
    assert "554 5.7.1 Not from here" in digest.problem
    hours_pass()
    time.sleep(1)
    assert house.mailbox.taken == []
    return "refused, in the server's own words, not tried again"


@process_fault("mail server hangs after the mail")
def hangs(house: House) -> str:
    house.stop(_worker(house))
    impatient = house.start_worker(EMAIL_TIMEOUT="2")
    house.mailbox.silent = True
    digest = a_mail()
    wait_for_state(digest, DigestState.UNKNOWN)
    house.mailbox.silent = False
    house.stop(impatient)
    house.start_worker()
    hours_pass()
    return sent_again_as_the_same(house, digest)


@process_fault("mail server drops the line after the mail")
def drops_after_data(house: House) -> str:
    house.mailbox.at_data = ["cut"]
    digest = a_mail()
    wait_for_state(digest, DigestState.UNKNOWN)
    hours_pass()
    return sent_again_as_the_same(house, digest)


@process_fault("mail server greylists")
def greylists(house: House) -> str:
    house.mailbox.at_recipient = ["451 4.7.1 Greylisted, try again later"]
    digest = a_mail()
    wait_for(lambda: state(digest) == "queued" and digest.problem, what="the refusal")
    assert "451 4.7.1 Greylisted" in digest.problem
    assert digest.next_attempt_at > timezone.now() + timedelta(minutes=4)
    hours_pass()
    return sent_once(house, digest)


# --- at the same moment ---------------------------------------------------------------


@process_fault("the same task seven times at once")
def the_same_task_many_times(house: House) -> str:
    other = house.start_worker(2)
    house.mailbox.hold = True
    digest = a_mail()
    for _ in range(6):
        app.send_task(SEND, [digest.pk])
    wait_for(lambda: house.mailbox.taken, what="the mail")
    # The others find it being sent. The one that sends it is not counted where the
    # second worker, as it started, took its call for that of a dead one and did it too.
    wait_for(lambda: _calls_not_done(digest) <= 1, what="end of the other calls")
    house.mailbox.hold = False
    words = sent_once(house, digest)
    house.stop(other)
    return words


def _calls_not_done(digest: Digest) -> int:
    """Those for this mail that wait for a worker, and those that one has in hand."""
    with app.connection_for_write() as link:
        channel = link.default_channel
        waiting = channel.client.lrange(app.conf.task_default_queue, 0, -1)
        in_hand = channel.client.hvals(channel.unacked_key)
    calls = [*map(json.loads, waiting), *(json.loads(one)[0] for one in in_hand)]
    own = {"task": SEND, "argsrepr": f"[{digest.pk}]"}
    return sum(own.items() <= call["headers"].items() for call in calls)


@process_fault("database locked for ten seconds")
def database_locked_for_ten_seconds(house: House) -> str:
    digest = a_mail_unsent()
    with locked_database():
        app.send_task(SEND, [digest.pk])
        time.sleep(10)
    words = sent_once(house, digest)
    assert recheck(digest.member.household, as_of=digest.day) == []
    assert Standing.objects.get().standing == "overdue"
    return words


def a_mail_unsent() -> Digest:
    """Made, but not yet given to a worker."""
    digest: list[Digest] = []
    with contextlib.suppress(_NotYet), transaction.atomic():
        digest.append(a_mail())
        transaction.set_rollback(False)
        connection.run_on_commit = []
    return digest[0]


class _NotYet(Exception):
    pass


def _workers(house: House) -> list[Child]:
    return [c for c in house.family.children if c.name == "worker" and not c.dead]


def _worker(house: House) -> Child:
    return _workers(house)[-1]
