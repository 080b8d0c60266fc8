"""What a power cut leaves half written and the program can make anew: it starts."""

import contextlib
import os
import subprocess
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from rigsite import start
from rigsite.children import Supervisor
from rigsite.console import Stop
from rigsite.paths import CHECKOUT, broker_socket, environment_python
from rigsite.processes import talk
from tests.start.program import Program, environment, running

pytestmark = pytest.mark.whole_program

ANEW = "The broker can't start with its files. It starts over; the old files are in"


def spoil(files: Iterable[Path], content: bytes) -> None:
    spoilt = [file for file in files if file.is_file()]
    assert spoilt
    for file in spoilt:
        file.write_bytes(content)


def style_sheet(program: Program) -> tuple[int, str]:
    _, page = program.get("/no/such/page/")
    addresses = [part.partition('"')[0] for part in page.split('href="')]
    return program.get(next(each for each in addresses if "/tokens." in each))


def test_start_when_static_and_broker_files_are_half_written_then_it_runs(
    migrated, tmp_path
):
    migrated(tmp_path)
    subprocess.run(
        [environment_python(), "-m", "rigsite.prepare"],
        env=environment(tmp_path),
        cwd=CHECKOUT,
        check=True,
    )
    manifest = tmp_path / "static" / "staticfiles.json"
    half = manifest.read_bytes()[: manifest.stat().st_size // 2]
    spoil((tmp_path / "static").rglob("*"), b"")
    manifest.write_bytes(half)
    queue = tmp_path / "broker" / "appendonlydir" / "appendonly.aof.manifest"
    queue.parent.mkdir(parents=True)
    queue.touch()

    with running(tmp_path) as program:
        status, words = program.get("/health/")
        sheet = style_sheet(program)

    assert (status, words[:22]) == (200, "Everything is running.")
    assert (sheet[0], "{" in sheet[1]) == (200, True)
    assert f"{ANEW} {tmp_path}" in program.text


# --- the broker alone -----------------------------------------------------------------


@contextlib.contextmanager
def broker_on(data: Path) -> Iterator[Path]:
    """The broker as `start` brings it up; its socket."""
    supervisor = Supervisor(data / "log")
    try:
        start._bring_up_broker(
            supervisor, dict(os.environ) | {"RIGSITE_DATA": str(data)}
        )
        yield broker_socket(data)
    finally:
        supervisor.stop()
        supervisor.output.close()


@pytest.fixture
def used(tmp_path: Path) -> Path:
    """A data folder whose broker has kept one thing."""
    with broker_on(tmp_path) as socket:
        assert talk(socket, "SET task waiting") == "+OK"
    return tmp_path


def kept(socket: Path) -> bool:
    return talk(socket, "EXISTS task") == ":1"


def test_broker_when_its_files_are_whole_then_they_stay(used):
    with broker_on(used) as socket:
        assert kept(socket)

    assert not (used / "broker-set-aside").exists()


def test_broker_when_its_last_entry_is_cut_off_then_the_rest_stays(used):
    with broker_on(used) as socket:
        assert talk(socket, "SET other waiting") == "+OK"
    [log] = (used / "broker").rglob("*.incr.aof")
    log.write_bytes(log.read_bytes()[:-5])

    with broker_on(used) as socket:
        assert kept(socket)


@pytest.mark.parametrize(
    ("files", "content"),
    [
        ("*.incr.aof", b"no commands\r\n" * 99),
        ("*.base.*", b"no base"),
        ("*.manifest", b""),
    ],
)
def test_broker_when_it_does_not_start_on_its_files_then_it_begins_anew(
    files, content, used, capsys
):
    spoil((used / "broker").rglob(files), content)

    with broker_on(used) as socket:
        assert not kept(socket)
        assert talk(socket, "SET task waiting") == "+OK"

    said = f"{ANEW} {used / 'broker-set-aside'}"
    assert said in capsys.readouterr().out
    assert said in (used / "log").read_text()
    assert (used / "broker-set-aside" / "appendonlydir").is_dir()
    with broker_on(used) as socket:
        assert kept(socket)


def test_broker_when_that_happens_twice_then_the_later_files_are_aside(used):
    for content in (b"", b"later"):
        spoil((used / "broker").rglob("*.manifest"), content)
        with broker_on(used):
            pass

    [aside] = (used / "broker-set-aside").rglob("*.manifest")
    assert aside.read_bytes() == b"later"


def test_broker_when_it_never_comes_up_then_it_says_where_the_reason_is(
    tmp_path, monkeypatch
):
    """Not for its files: none are there to be set aside."""
    monkeypatch.setattr(start.processes, "broker_program", lambda: "/bin/false")

    with pytest.raises(Stop, match="The broker isn't answering"), broker_on(tmp_path):
        pass

    assert not (tmp_path / "broker-set-aside").exists()
