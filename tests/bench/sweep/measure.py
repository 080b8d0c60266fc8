"""What finding and doing the work of a day takes, as the households grow."""

import os
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from subprocess import DEVNULL

from django.core.management import call_command
from django.db import connection

from maintenance.households.models import Household
from maintenance.plans import day_change
from maintenance.plans.models import Standing
from maintenance.reminders.models import Notice
from maintenance.reminders.services import raise_for, to_look_at
from rigsite.celery import app
from rigsite.children import spawn
from tests.bench.sweep.fill import ITEMS, TODAY, fill
from tests.reminders.builders import noon
from tests.servers import wait_for

NOW = noon(TODAY)
ROUNDS = 5
HEAD = (
    "households touched   fill s  bare ms insert ms  find ms find/bare"
    "   work s  ms each"
)


def run(sizes: list[int], crossing: int, *, shared: bool) -> None:
    call_command("migrate", verbosity=0)
    print(HEAD)
    for size in sizes:
        call_command("flush", interactive=False, verbosity=0)
        filled, _ = timed(lambda size=size: fill(size, crossing))
        one_size(size, filled)
    if shared:
        share_out(min(2000, max(sizes)))


def one_size(size: int, filled: float) -> None:
    to_look_at(NOW)  # what was "done" while filling is looked through once
    bare = best(lambda: list(falling_due()))
    find = best(lambda: (day_change.behind(NOW), to_look_at(NOW)))
    inserted = insert_again()
    ids = day_change.behind(NOW)
    took, _ = timed(lambda: (day_change.renew_some(ids, NOW), raise_for(ids, NOW)))
    assert not to_look_at(NOW)
    assert not day_change.behind(NOW)
    raised = Notice.objects.filter(raised_on=TODAY, stage="due").count()
    assert raised == len(ids) > 0, (raised, len(ids))
    print(
        f"{size:10} {len(ids):7} {filled:8.1f} {bare * 1000:8.1f}"
        f" {inserted * 1000:9.1f} {find * 1000:8.1f} {find / bare:9.1f} {took:8.2f}"
        f" {took / len(ids) * 1000:8.1f}"
    )


def falling_due():
    rows = Standing.objects.filter(standing="soon", opens_on__lte=TODAY)
    return rows.order_by().values_list("item", "item__rig__household", "closes_on")


def insert_again() -> float:
    """Seconds to store a notice for each item that falls due; taken back after."""
    sql = """
        INSERT INTO reminders_notice (item_id, member_id, stage, cycle, raised_on)
        SELECT i.id, m.id, 'bare', 'bare', DATE '2026-05-04' FROM plans_standing s
        JOIN plans_planitem i ON i.id = s.item_id JOIN vehicles_rig r ON r.id = i.rig_id
        JOIN households_member m ON m.household_id = r.household_id
        WHERE s.standing = 'soon' AND s.opens_on <= '2026-05-04'
    """
    if connection.vendor == "sqlite":
        sql = sql.replace("DATE '", "'")

    def insert() -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql)

    took, _ = timed(insert)
    Notice.objects.filter(stage="bare").delete()
    return took


def timed(call: Callable[[], object]) -> tuple[float, object]:
    began = time.perf_counter()
    found = call()
    return time.perf_counter() - began, found


def best(call: Callable[[], object]) -> float:
    return min(timed(call)[0] for _ in range(ROUNDS))


# --- several workers ------------------------------------------------------------------


def share_out(size: int) -> None:
    """Every household is touched; workers take batches from the broker."""
    print("\nworkers  households      s  a second  by one")
    alone = 0.0
    for workers in (1, 2, 4):
        call_command("flush", interactive=False, verbosity=0)
        fill(size, 100)
        connection.close()
        took = with_workers(workers, size)
        alone = alone or took
        overdue = Notice.objects.filter(stage="overdue").count()
        assert overdue == size * ITEMS, overdue  # by the real clock all of them are
        print(
            f"{workers:7} {size:11} {took:6.1f} {size / took:9.0f} {alone / took:7.2f}"
        )


def with_workers(count: int, size: int) -> float:
    """Seconds until all are reckoned and told. The workers' today is the real one: by
    then more items have fallen due, and the work for each household is the same."""
    command = [sys.executable, "-m", "celery", "-A", "rigsite", "worker"]
    process = spawn(
        [*command, "--concurrency", str(count), "--loglevel", "WARNING"],
        env=dict(os.environ),
        output=DEVNULL,
    )
    try:
        wait_for(lambda: app.control.ping(timeout=1), seconds=60, what="workers")
        began = time.perf_counter()
        app.send_task("maintenance.plans.tasks.renew_standings")
        wait_for(lambda: not left("next_change_on"), seconds=900, what="standings")
        app.send_task("maintenance.reminders.tasks.raise_notices")
        wait_for(lambda: not left("next_notice_on"), seconds=900, what="notices")
        return time.perf_counter() - began
    finally:
        process.terminate()
        process.wait(30)


def left(column: str) -> bool:
    rows = Household.objects.filter(**{f"{column}__lte": TODAY + timedelta(days=1)})
    return rows.exists()
