"""What a killed worker had taken is handed out again. Both rest on kombu's insides and
on settings that are easily lost, so real processes are killed here."""

import os
import signal
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from rigsite.celery import app
from rigsite.children import Supervisor
from rigsite.paths import broker_socket, private_folder
from rigsite.processes import answers, broker, worker
from tests.servers import PATIENCE, wait_for

pytestmark = pytest.mark.whole_program

FOREVER = 10 * PATIENCE


@dataclass
class House:
    """A broker and a worker as `start` runs them, with one slow task in hand."""

    supervisor: Supervisor
    marks: Path

    def begun(self) -> list[int]:
        """The processes that began the task, in order."""
        text = self.marks.read_text() if self.marks.exists() else ""
        return [int(line.split()[1]) for line in text.splitlines() if "begin" in line]

    def start_worker(self, env: dict[str, str]) -> None:
        child = worker(env)
        child.command += ["--include", "tests.start.slow_task"]
        self.supervisor.start(child)


@pytest.fixture
def env(tmp_path: Path) -> dict[str, str]:
    unset = {"REDIS_URL", "DATABASE_URL"}
    plain = {name: value for name, value in os.environ.items() if name not in unset}
    return plain | {"RIGSITE_DATA": str(tmp_path)}


@pytest.fixture
def house(tmp_path: Path, env: dict[str, str]) -> Iterator[House]:
    made = House(Supervisor(tmp_path / "log"), tmp_path / "marks")
    try:
        bring_up(made, env, broker_socket(tmp_path))
        yield made
    finally:
        made.supervisor.kill()
        made.supervisor.output.close()


def bring_up(house: House, env: dict[str, str], path: Path) -> None:
    private_folder(path.parent)
    house.supervisor.start(broker(env, Path(env["RIGSITE_DATA"])))
    wait_for(lambda: answers(path), what="broker")
    house.start_worker(env)
    with app.connection_for_write(f"redis+socket://{path}?virtual_host=0") as link:
        app.send_task("tests.slow", [str(house.marks), FOREVER], connection=link)
    wait_for(house.begun, what="task")


def alive(pid: int) -> bool:
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rsplit(")")[1][:3]
    except FileNotFoundError:
        return False


def test_worker_when_killed_whole_then_the_next_one_takes_the_task_at_once(house, env):
    killed = house.supervisor.children[-1].process
    os.kill(killed.pid, signal.SIGKILL)

    house.start_worker(env)

    # Without taking back it would be the visibility timeout, an hour.
    assert app.conf.broker_transport_options["visibility_timeout"] > 2 * PATIENCE
    wait_for(lambda: len(house.begun()) == 2, what="the task again")


def test_worker_when_killed_whole_then_its_task_does_not_go_on(house):
    [running] = house.begun()

    os.kill(house.supervisor.children[-1].process.pid, signal.SIGKILL)

    wait_for(lambda: not alive(running), what="end of the task")


def test_worker_when_the_process_of_the_task_dies_then_the_task_runs_again(house):
    [running] = house.begun()

    os.kill(running, signal.SIGKILL)

    wait_for(lambda: len(house.begun()) == 2, what="the task again")
