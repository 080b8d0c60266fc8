"""The process that records work is killed: what it acknowledged is there."""

import os
import signal
import subprocess
import sys
from contextlib import closing
from sqlite3 import connect

from rigsite.paths import CHECKOUT
from tests.faults.place import Place
from tests.faults.table import data_fault

# Writes one row after the other, and says each when it is stored.
WRITER = """
import django
django.setup()
from maintenance.households.models import ActivityEntry, Household
household = Household.objects.get()
for n in range(1000):
    ActivityEntry.objects.create(household=household, what="counted", about=n)
    print(n, flush=True)
"""


@data_fault("killed while writing")
def killed_while_writing(place: Place) -> str:
    env = os.environ | {
        "RIGSITE_DATA": str(place.data),
        "DJANGO_SETTINGS_MODULE": "rigsite.settings",
    }
    env.pop("DATABASE_URL", None)
    with subprocess.Popen(
        [sys.executable, "-c", WRITER],
        cwd=CHECKOUT,
        env=env,
        stdout=subprocess.PIPE,
        text=True,
    ) as writer:
        assert writer.stdout is not None
        said = [int(writer.stdout.readline()) for _ in range(20)]
        writer.send_signal(signal.SIGKILL)
        said += [int(line) for line in writer.stdout.read().split()]
    with closing(connect(place.data / "rigsite.db")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        rows = database.execute(
            "SELECT about FROM households_activityentry WHERE what = 'counted'"
        )
        kept = {int(about) for (about,) in rows}
    assert kept >= set(said), f"lost: {sorted(set(said) - kept)}"
    return f"all {len(said)} rows that it acknowledged are there"
