"""`manage.py start` as a user meets it: real processes, a real terminal."""

import os
import signal
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.servers import wait_for
from tests.start.program import (
    Program,
    memory_of,
    processes_of,
    run,
    running,
    wait_until_nothing_is_left,
)

pytestmark = pytest.mark.whole_program


@pytest.fixture(scope="module")
def interrupted(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """A first start, stopped as it prepares. Nothing of it is left."""
    program = Program(tmp_path_factory.mktemp("data folder"))
    try:
        program.wait_until_says("Preparing the database.")
        program.press_ctrl_c()
        # A migration is let come to its end first, however long it takes.
        wait_until_nothing_is_left(program)
        program.says("Stopped.")
        yield program
    finally:
        program.end()


@pytest.fixture(scope="module")
def program(interrupted: Program) -> Iterator[Program]:
    """The start after it, in the same folder. Terminated, it leaves nothing either."""
    with running(interrupted.data) as started:
        yield started
        started.process.terminate()
        wait_until_nothing_is_left(started)


@pytest.fixture(scope="module")
def used(
    migrated: Callable[[Path], Path], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """The data folder of all starts that are ended, one after the other."""
    return migrated(tmp_path_factory.mktemp("used"))


def test_start_when_ready_then_it_says_where_and_health_answers(program):
    status, words = program.get("/health/")

    assert f"Running: http://127.0.0.1:{program.port}/" in program.text
    assert status == 200
    assert words.startswith("Everything is running.")


def test_start_when_ready_then_pages_name_style_sheets_that_are_served(program):
    _, page = program.get("/no/such/page/")

    sheets = [part.partition('"')[0] for part in page.split('href="')]
    sheets = [each for each in sheets if each.endswith(".css")]
    assert sheets
    for sheet in sheets:
        assert program.get(sheet)[0] == 200


def test_start_when_it_runs_then_what_it_keeps_is_private(program):
    open_to_others = [
        each
        for each in [program.data / "rigsite.db", program.data / "rigsite.log"]
        if each.stat().st_mode & 0o077
    ]

    assert open_to_others == []


def test_start_when_it_runs_then_it_takes_less_memory_than_promised(program):
    for _ in range(6):
        program.get("/")

    assert 50 < memory_of(program.data) < 400  # MB; the aim that was set


def test_second_start_when_one_runs_then_it_says_where(program):
    second = run(program.data, "--port", "1")

    assert second.returncode == 1
    assert second.stderr == (
        f"It's already running: http://127.0.0.1:{program.port}/\n"
    )


def test_child_when_it_dies_then_started_again(program):
    def beats() -> list[int]:
        return [
            pid for pid, line in processes_of(program.data) if "rigsite.beat" in line
        ]

    [before] = beats()
    os.kill(before, signal.SIGKILL)

    wait_for(lambda: beats() not in ([], [before]), what="beat")
    program.wait_until_says("The beat stopped unexpectedly; starting it again.")


def test_port_when_in_use_then_one_line_and_nothing_left(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        done = run(tmp_path, "--port", str(port))

    assert done.returncode == 1
    assert done.stderr.startswith(f"Port {port} is in use by another program. ")
    assert done.stderr.count("\n") == 1
    assert processes_of(tmp_path) == []


@pytest.mark.parametrize("folder", ["file/data", "file"])
def test_data_folder_when_it_cannot_be_written_then_one_line(folder, tmp_path):
    (tmp_path / "file").touch()

    done = run(tmp_path / folder)

    assert done.returncode == 1
    assert "can't be written to" in done.stderr
    assert "RIGSITE_DATA=" in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("port", ["0", "65536", "web"])
def test_port_when_impossible_then_it_says_so(port, tmp_path):
    done = run(tmp_path, "--port", port)

    assert done.returncode == 2
    assert "enter 1 to 65535" in done.stderr


def press_ctrl_c(program: Program) -> None:
    program.press_ctrl_c()


def press_ctrl_c_twice(program: Program) -> None:
    program.press_ctrl_c()
    program.wait_until_says("Stopping")
    program.press_ctrl_c()


def close_terminal(program: Program) -> None:
    program.close_terminal()


@pytest.mark.parametrize("end", [press_ctrl_c, press_ctrl_c_twice, close_terminal])
def test_program_when_ended_then_no_process_is_left(end, used: Path):
    with running(used) as program:
        assert len(program.left_behind()) > 6

        end(program)

        wait_until_nothing_is_left(program)


def test_start_when_interrupted_while_starting_then_no_process_is_left(interrupted):
    assert "Stopped." in interrupted.text, interrupted.text
    assert interrupted.process.returncode == 0


def test_program_when_killed_then_nothing_is_left_and_it_runs_again_at_once(used: Path):
    with running(used) as killed:
        before = {pid for pid, _ in processes_of(used)}
        killed.process.kill()
        killed.process.wait()

        with running(used) as again:
            assert again.get("/health/")[0] == 200
            wait_for(
                lambda: before.isdisjoint(pid for pid, _ in processes_of(used)),
                what="end of all its processes",
            )
