"""`manage.py start`: makes what is missing, then runs broker, worker, beat and web
server together until it is stopped. Standard library only."""

import argparse
import contextlib
import errno
import fcntl
import http.client
import json
import os
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from socket import gethostname
from types import FrameType
from typing import IO, NoReturn

from maintenance.disk import make_folder
from rigsite import lan, packages, processes, system
from rigsite.children import Child, Supervisor, spawn
from rigsite.console import UPGRADE, Stop, complain, say
from rigsite.handing import handing_socket
from rigsite.paths import (
    broker_socket,
    data_folder,
    environment_python,
    founding_file,
    log_file,
    private_folder,
)

BIGGEST_LOG = 10_000_000  # bytes
# Seconds. Who dies before is noticed at once; a busy machine may need most of them.
READY_WITHIN = 240
BROKER_WITHIN = 90


class Interrupted(Exception):
    """Somebody wants us to stop: Ctrl-C, a closed terminal, or a signal to end."""


def run(arguments: list[str]) -> int:
    options = _options(arguments)
    os.umask(0o077)  # what a household keeps is for nobody else on the machine
    _listen_to_signals()
    try:
        start(options)
    except Stop as reason:
        complain(str(reason))
        return 1
    except Interrupted:
        say("Stopped.")
    return 0


def run_prepare() -> int:
    """All that `start` does before it runs anything, for those who run the processes
    by other means (README, Many households)."""
    os.umask(0o077)
    try:
        data = usable(data_folder(os.environ.get("RIGSITE_DATA", "")))
        system.install(system.missing_packages())
        packages.provide(data / "install.log", tests=False)
        with usable_log(log_file(data)).open("ab") as log:
            prepare(os.environ | {"RIGSITE_DATA": str(data)}, log)
    except Stop as reason:
        complain(str(reason))
        return 1
    say("Ready.")
    return 0


def _options(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="manage.py start", description="Run Rigsite on this computer."
    )
    parser.add_argument(
        "--port", type=_port, default=8020, help="port of the web server (8020)"
    )
    lan.add_options(parser)
    parser.add_argument(
        "--demo", action="store_true", help="add the demo household and its login"
    )
    return parser.parse_args(arguments)


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} isn't a port; enter 1 to 65535")
    return int(text)


def _listen_to_signals() -> None:
    def interrupt(number: int, frame: FrameType | None) -> NoReturn:
        raise Interrupted

    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, interrupt)


def start(options: argparse.Namespace) -> None:
    data = usable(data_folder(os.environ.get("RIGSITE_DATA", "")))
    address = f"http://127.0.0.1:{options.port}/"
    with only_start(data, address):
        way = lan.choose(options, data)
        check_port(options.port, lan=way.open)
        if way.encrypted:
            check_port(options.port + 1, lan=True)
        system.install(system.missing_packages())
        packages.provide(data / "install.log", tests=False)
        env = _environment(way, data)
        with _family(usable_log(log_file(data))) as supervisor:
            outside = Outside(way, env, options.port)
            outside.open(supervisor.output)
            prepare(env, supervisor.output)
            bring_up(supervisor, env, options, way)
            wait_until_healthy(supervisor, options.port)
            _welcome(outside, data, address)
            watch(supervisor)


class Outside:
    """The address for other machines, and what is said of it at the terminal."""

    def __init__(self, way: lan.Way, env: dict[str, str], port: int) -> None:
        self.way, self.env, self.port = way, env, port
        self.name = lan.own_name()
        self.fingerprint = ""

    def open(self, log: IO[bytes]) -> None:
        """Make the certificate where it is missing, and tell the program its address,
        which follows from it."""
        if self.way.kind == lan.CERTIFICATE:
            words = _run_task(["-m", "rigsite.certificate", self.name], self.env, log)
            made = json.loads(words.splitlines()[-1])
            self.fingerprint = made["fingerprint"]
        elif self.way.kind == lan.GIVEN:
            task: list[str | Path] = ["-m", "rigsite.certificate"]
            task += ["--names", self.way.certificate]
            names = json.loads(_run_task(task, self.env, log).splitlines()[-1])
            if not names:
                raise Stop(f"{self.way.certificate} isn't for a host name.")
            self.name = names[0].replace("*", gethostname().split(".")[0])
        if self.way.encrypted:
            self.env["LAN_ADDRESS"] = self.address.rstrip("/")

    @property
    def address(self) -> str:
        if self.way.encrypted:
            return f"https://{self.name}:{self.port + 1}/"
        return f"http://{self.name}:{self.port}/"

    def say(self, founding: str) -> None:
        """`founding`: the end of the address by which the first household begins."""
        if self.fingerprint:
            say(
                "On each phone, once: install this computer's certificate from\n"
                f"  http://{self.name}:{self.port}/\n"
                "It must show this fingerprint (SHA-256). If not, don't install it:\n"
                f"  {self.fingerprint[:47]}\n  {self.fingerprint[48:]}"
            )
        say(f"From other devices on this network: {self.address}{founding}")
        if not self.way.encrypted:
            say("Not encrypted: use it only on your own Wi-Fi.")
        # A program of the packages draws it.
        code = processes.python("segno.cli", "--compact", "--border", "2")
        drawn = subprocess.run(
            [*code, f"{self.address}{founding}"],
            capture_output=True,
            text=True,
            check=False,
        )
        if not drawn.returncode:
            say(drawn.stdout.rstrip("\n"))


def usable(data: Path) -> Path:
    try:
        make_folder(data)
        probe = data / ".writable"
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise Stop(
            f"The data folder {data} can't be written to ({error.strerror}). "
            "Choose another: RIGSITE_DATA=/path/to/folder"
        ) from None
    return data


def usable_log(log: Path) -> Path:
    """The log; where it cannot be written, nothing takes its place: what is due is told
    all the same, and `checkup` says so."""
    try:
        log.open("ab").close()
    except OSError as error:
        say(
            f"The log {log} can't be written ({error.strerror}). Continuing without it."
        )
        return Path(os.devnull)
    return log


@contextlib.contextmanager
def only_start(data: Path, address: str) -> Iterator[None]:
    """One start at a time per data folder. The lock goes with the process, so nothing
    stale can remain; the file tells where the one that holds it can be found."""
    with (data / "running").open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.seek(0)
            raise Stop(f"It's already running: {file.read().strip()}") from None
        file.truncate(0)
        file.write(f"{address}\n")
        file.flush()
        yield


def check_port(port: int, *, lan: bool) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((_interface(lan=lan), port))
        except OSError as error:
            if error.errno == errno.EACCES:
                raise Stop(f"Port {port} needs root. Choose one above 1023.") from None
            raise Stop(
                f"Port {port} is in use by another program."
                f" Choose another: --port {port + 1}"
            ) from None


def _interface(*, lan: bool) -> str:
    # The first is asked for by --lan.
    return "0.0.0.0" if lan else "127.0.0.1"  # noqa: S104  # nosec B104


def _environment(way: lan.Way, data: Path) -> dict[str, str]:
    return os.environ | {
        "RIGSITE_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "rigsite.settings",
        "PYTHONUNBUFFERED": "1",
        **({"RIGSITE_LAN": "true"} if way.open else {}),
    }


@contextlib.contextmanager
def _family(log: Path) -> Iterator[Supervisor]:
    supervisor = Supervisor(log)
    try:
        yield supervisor
    except Interrupted:
        say("Stopping (press again to stop now) ...")
        raise
    finally:
        try:
            supervisor.stop()
        except Interrupted:
            supervisor.kill()


def prepare(env: dict[str, str], log: IO[bytes]) -> None:
    say("Preparing the database.")
    words = _run_task(["-m", "rigsite.prepare"], env, log)
    for line in words.splitlines():
        if line.startswith(UPGRADE):
            log.write(f"{line}\n".encode())
            say(line)


def _run_task(arguments: list[str | Path], env: dict[str, str], log: IO[bytes]) -> str:
    """Run one of our own programs to its end and return what it said; Stop with its
    last line if it fails. It has a session of its own and is waited for: Ctrl-C must
    not leave a migration half done."""
    task = spawn([environment_python(), *arguments], env=env, output=subprocess.PIPE)
    try:
        output, _ = task.communicate()
    except Interrupted:
        task.communicate()
        raise
    words = output.decode(errors="replace").strip()
    if task.returncode:
        log.write(output)
        reason = words.splitlines()[-1] if words else f"{arguments} failed"
        raise Stop(f"{reason} (full log: {log.name})")
    return words


def bring_up(
    supervisor: Supervisor,
    env: dict[str, str],
    options: argparse.Namespace,
    way: lan.Way,
) -> None:
    if not (env.get("REDIS_URL") or env.get("REDIS_URL_FILE")):
        _bring_up_broker(supervisor, env)
    if options.demo:
        say("Adding the demo household.")
        say(_run_task(["manage.py", "load_demo"], env, supervisor.output))
    supervisor.start(processes.worker(env))
    supervisor.start(processes.long_worker(env))
    supervisor.start(processes.beat(env))
    _open_doors(supervisor, env, options.port, way)


def _open_doors(
    supervisor: Supervisor, env: dict[str, str], port: int, way: lan.Way
) -> None:
    """The web server, and before it, in a process of its own, what decrypts."""
    handed = handing_socket(broker_socket(Path(env["RIGSITE_DATA"])))
    private_folder(handed.parent)
    bind = f"{_interface(lan=way.open)}:{port}"
    supervisor.start(processes.web(env, bind, handed=handed if way.encrypted else None))
    if way.encrypted:
        door = processes.secure_door(
            env,
            f"{_interface(lan=True)}:{port + 1}",
            certificate=way.certificate,
            key=way.key,
            web_server=handed,
        )
        supervisor.start(door)


def _bring_up_broker(supervisor: Supervisor, env: dict[str, str]) -> None:
    data = Path(env["RIGSITE_DATA"])
    path = broker_socket(data)
    private_folder(path.parent)
    processes.end_leftover_broker(path)
    broker = processes.broker(env, data)
    supervisor.start(broker)
    if _is_up(broker, path):
        return
    if broker.dead and (aside := processes.set_broker_files_aside(data)):
        words = (
            "The broker can't start with its files. It starts over; the old files "
            "are in"
        )
        words = f"{words} {aside}"
        say(words)
        supervisor.output.write(f"{words}\n".encode())
        broker.start(supervisor.output)
    if not _is_up(broker, path):
        raise Stop(f"The broker isn't answering. See {supervisor.log} for the reason.")


def _is_up(broker: Child, path: Path) -> bool:
    """Whether it answers, as soon as that is certain either way."""
    processes.wait_until(
        lambda: broker.dead or processes.answers(path), seconds=BROKER_WITHIN
    )
    return not broker.dead and processes.answers(path)


def wait_until_healthy(supervisor: Supervisor, port: int) -> None:
    until = time.monotonic() + READY_WITHIN
    words = ""
    while time.monotonic() < until:
        supervisor.look_after()
        status, words = health(port)
        if status == 200:
            return
        time.sleep(0.5)
    raise Stop(f"It didn't start: {words} See {supervisor.log} for the reason.")


def health(port: int) -> tuple[int, str]:
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        link.request("GET", "/health/")
        answer = link.getresponse()
        return answer.status, answer.read().decode(errors="replace").replace("\n", " ")
    except (OSError, http.client.HTTPException):
        return 0, "The web server isn't answering."
    finally:
        link.close()


def _welcome(outside: Outside, data: Path, address: str) -> None:
    founding = founding_file(data)
    code = founding.read_text().strip() if founding.exists() else ""
    end = f"welcome/?code={code}" if code else ""
    # At this machine itself the code is not asked for, unless a proxy stands before it:
    # then everybody seems to come from here.
    public = outside.env.get("PUBLIC_URL", "").rstrip("/")
    say(f"Running: {address}")
    if public and code:
        say(f"Start at: {public}/{end}")
    if outside.way.open:
        outside.say(end)
    say(f"Data: {data}   Log: {log_file(data)}   Stop with Ctrl-C")


def watch(supervisor: Supervisor) -> NoReturn:
    while True:
        time.sleep(0.5)
        supervisor.look_after()
        supervisor.shorten_log(BIGGEST_LOG)
