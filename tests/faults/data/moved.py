"""A backup taken from one kind of database to the other and back, while somebody
writes: each is one state, with the same rows, heads and links."""

import contextlib
import threading
from collections import Counter
from collections.abc import Iterator

from django.db import connection, transaction
from django.utils import timezone

from maintenance.households.models import ActivityEntry, Household
from maintenance.service_records.chain.verifying import verify
from maintenance.vehicles.models import Rig
from rigsite.backup.making import make_backup
from rigsite.backup.restoring import restore
from rigsite.backup.scratch import data_in_use, database_in_use
from rigsite.env import database, sqlite
from rigsite.system import program
from tests import servers
from tests.faults.place import Place
from tests.faults.table import NotRun, data_fault


@data_fault("moved from SQLite to PostgreSQL and back", quick=False)
def moved_between_databases(place: Place) -> str:
    if program("initdb") is None:
        raise NotRun("there is no PostgreSQL here")
    with contextlib.ExitStack() as stack:
        url = stack.enter_context(servers.postgresql(place.room))
        on_server = database(url)
        with place.in_use():
            before = _seen()
        with place.in_use(), _somebody_writes(sqlite(place.data / "rigsite.db")):
            made = make_backup(place.room / "1", now=timezone.now())
        with place.in_use(), database_in_use(on_server):
            restore(made, now=timezone.now(), replace=True)
            pairs = _pairs()
            assert _seen() == before, (_seen(), before)
            with _somebody_writes(on_server):
                made = make_backup(place.room / "2", now=timezone.now())
        with data_in_use(place.room / "elsewhere"):
            restore(made, now=timezone.now(), replace=False)
            more = _pairs()
            assert _seen() == before, (_seen(), before)
    return f"each one state ({pairs}, then {more} pairs whole), same heads and records"


def _seen() -> object:
    """What must be the same on either side."""
    results = [verify(rig) for rig in Rig.objects.order_by("pk")]
    assert all(result.holds for result in results), results
    return [(each.head, each.records, each.files) for each in results]


def _pairs() -> int:
    """Rows come in pairs, a transaction each: none may stand alone."""
    rows = ActivityEntry.objects.filter(what="pair").values_list("about", flat=True)
    counted = Counter(rows)
    assert set(counted.values()) == {2}, "half a transaction is in the backup"
    return len(counted)


@contextlib.contextmanager
def _somebody_writes(config: dict[str, object]) -> Iterator[None]:
    """As fast as it goes, in a thread with a connection of its own."""
    over, begun = threading.Event(), threading.Event()

    def write() -> None:
        with database_in_use(config):
            household = Household.objects.get()
            number = ActivityEntry.objects.filter(what="pair").count()
            while not over.is_set():
                number += 1
                with transaction.atomic():
                    for _ in range(2):
                        ActivityEntry.objects.create(
                            household=household, what="pair", about=str(number)
                        )
                begun.set()
        connection.close()

    writer = threading.Thread(target=write)
    writer.start()
    begun.wait(servers.PATIENCE)
    try:
        yield
    finally:
        over.set()
        writer.join()
