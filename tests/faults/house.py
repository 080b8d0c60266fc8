"""The program's processes on a database and broker of their own, to be killed."""

import contextlib
import os
import shutil
import signal
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from rigsite.children import Child, Supervisor
from rigsite.paths import broker_socket, private_folder
from rigsite.processes import QUEUES, answers, beat, broker, web, worker
from tests import servers
from tests.faults.mailbox import Mailbox, mailbox
from tests.servers import wait_for


@dataclass
class House:
    folder: Path
    env: dict[str, str]
    family: Supervisor
    mailbox: Mailbox
    own_broker: bool

    def start_broker(self) -> Child:
        child = broker(self.env, self.folder)
        self._start(child)
        path = broker_socket(self.folder)
        wait_for(lambda: answers(path), what="broker")
        return child

    def start_worker(self, processes: int = 1, **settings: str) -> Child:
        child = worker(self.env | settings)
        at = child.command.index("--concurrency")
        child.command[at + 1] = str(processes)
        # One for both queues, so that a fault of it meets whatever is under way.
        child.command[child.command.index("--queues") + 1] = ",".join(QUEUES)
        self._start(child)
        return child

    def start_beat(self) -> Child:
        """The schedule with a second between its turns, not minutes."""
        child = beat(self.env)
        child.command[-1] = "tests.faults.fast_beat"
        self._start(child)
        return child

    def start_web(self) -> tuple[Child, int]:
        port = servers.free_port()
        child = web(self.env, f"127.0.0.1:{port}")
        self._start(child)
        return child, port

    def _start(self, child: Child) -> None:
        self.family.start(child)

    def kill(self, child: Child) -> None:
        """kill -9 of all its processes, at once."""
        if child.process:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child.process.pid, signal.SIGKILL)
            child.process.wait()

    def stop(self, child: Child) -> None:
        child.stop()


@contextlib.contextmanager
def house(*, postgres: bool, database: Path | None = None) -> Iterator[House]:
    """With SQLite and a Valkey of its own, or PostgreSQL and Redis. Sets the
    environment, so that Django in this process uses the same. `database`: an SQLite
    file to begin with, migrated already."""
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="rig-")))
        if database:
            shutil.copy(database, folder / "rigsite.db")
        box = stack.enter_context(mailbox())
        own = {
            "DJANGO_SETTINGS_MODULE": "rigsite.settings",
            "RIGSITE_DATA": str(folder),
            "LOG_LEVEL": "WARNING",
            "EMAIL_HOST": "127.0.0.1",
            "EMAIL_PORT": str(box.port),
            "EMAIL_TLS": "off",
        }
        if postgres:
            own["DATABASE_URL"] = stack.enter_context(servers.postgresql(folder))
            own["REDIS_URL"] = stack.enter_context(servers.redis(folder)).url
        else:
            private_folder(broker_socket(folder).parent)
        for name in ("DATABASE_URL", "REDIS_URL"):
            os.environ.pop(name, None)
        os.environ |= own
        made = House(
            folder, dict(os.environ), Supervisor(folder / "log"), box, not postgres
        )
        try:
            yield made
        finally:
            made.family.kill()
            made.family.output.close()
