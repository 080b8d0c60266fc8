"""Twenty people at once on a household with four years behind it:

    python -m tests.bench.load                  a minute on SQLite
    python -m tests.bench.load --postgres       on a PostgreSQL and Redis of its own
    python -m tests.bench.load --seconds 10     as the checks run it

Each looks at pages and saves a form now and then, with a second or so between. Half of
the time 200 connections hang half open beside them: a hundred with half a head, a
hundred with half a body, from other addresses, held by a process of their own. Printed
are the 95th percentile without and with these and their ratio, and what an answer costs
the web server in time of the processor, which what else the machine does bears on less.
It fails on any answer that is not right, never on time.
"""

import argparse
import contextlib
import http.client
import os
import random
import re
import socket
import subprocess
import sys
import threading
import time
import urllib.parse
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

from rigsite.paths import CHECKOUT
from tests.faults.house import house
from tests.servers import PATIENCE, wait_for

PEOPLE, HALF_OPEN = 20, 200
PAUSE = (0.5, 1.5)  # seconds
SAVES = 0.15  # of what a person does
ROUNDS = 8  # without, with, and so on, so that what else the machine does is in both
FORM = "/household/myself/"
OTHERS = [f"127.0.0.{n}" for n in range(2, 6)]
CHANCE = random.SystemRandom()

Pairs = list[tuple[str, str]]


@dataclass
class Times:
    """Seconds of each answer, and what was wrong."""

    taken: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    worked: float = 0.0  # seconds of the processor, of the web server

    @property
    def p95(self) -> float:
        ordered = sorted(self.taken)
        return ordered[int(len(ordered) * 0.95)] * 1000 if ordered else 0.0

    @property
    def cost(self) -> float:
        """Milliseconds of the processor for an answer."""
        return self.worked * 1000 / len(self.taken) if self.taken else 0.0


class Person:
    def __init__(self, port: int) -> None:
        self.port = port
        self.link = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
        self.cookies: dict[str, str] = {}

    def ask(self, path: str, data: Pairs | None = None) -> tuple[int, str]:
        headers = {"Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items())}
        body = None
        if data is not None:
            body = urllib.parse.urlencode(data)
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            self.link.request("POST" if body else "GET", path, body, headers)
            answer = self.link.getresponse()
        except (http.client.RemoteDisconnected, BrokenPipeError, ConnectionError):
            # Kept alive for too long: a browser asks again, too.
            self.link.close()
            self.link.request("POST" if body else "GET", path, body, headers)
            answer = self.link.getresponse()
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answer.status, answer.read().decode()

    def log_in(self, username: str, password: str) -> None:
        _, page = self.ask("/login/")
        who = {"username": username, "password": password}
        status, _ = self.ask("/login/", filled(page, **who))
        assert status == 302, f"nobody could log in: {status}"

    def save(self) -> int:
        """The form as it stands, which is a change all the same: it is noted."""
        status, page = self.ask(FORM)
        return self.ask(FORM, filled(page))[0] if status == 200 else status


class Filled(HTMLParser):
    """What a browser would send of the form of a page, untouched."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.fields: list[tuple[str, str]] = []
        self._select = ""
        self.feed(page.partition("<main")[2])  # after the button that logs out

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "select":
            self._select = said["name"]
        elif tag == "option" and "selected" in said:
            self.fields.append((self._select, said.get("value", "")))
        elif tag == "input" and said.get("name"):
            boxes = said.get("type") in {"checkbox", "radio"}
            if not boxes or "checked" in said:
                self.fields.append((said["name"], said.get("value", "")))


def filled(page: str, **typed: str) -> list[tuple[str, str]]:
    return [each for each in Filled(page).fields if each[0] not in typed] + [
        *typed.items()
    ]


def come_in(port: int, login: tuple[str, str]) -> list[Person]:
    people = [Person(port) for _ in range(PEOPLE)]
    for each in people:
        each.log_in(*login)
    return people


def live(me: Person, until: float, times: Times) -> None:
    try:
        _, due = me.ask("/")
        rigs = sorted(set(re.findall(r'href="(/rigs/\d+/)"', due)))
        pages = ["/", "/rigs/", "/log/", "/costs/", "/storage/", "/library/", *rigs]
        while time.monotonic() < until:
            time.sleep(CHANCE.uniform(*PAUSE))
            began = time.perf_counter()
            if CHANCE.random() < SAVES:
                path, good, status = FORM, 302, me.save()
            else:
                path, good = CHANCE.choice(pages), 200
                status, _ = me.ask(path)
            times.taken.append(time.perf_counter() - began)
            if status != good:
                times.wrong.append(f"{path}: {status}")
    except (OSError, http.client.HTTPException) as error:
        times.wrong.append(f"{type(error).__name__}: {error}")


def measure(people: list[Person], seconds: float) -> Times:
    times = Times()
    until = time.monotonic() + seconds
    threads = [threading.Thread(target=live, args=(p, until, times)) for p in people]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return times


@contextlib.contextmanager
def half_open(port: int, count: int = HALF_OPEN) -> Iterator[None]:
    """Connections that begin and never end; one that is closed is opened again."""
    stop, opened = threading.Event(), threading.Event()
    head = b"GET /login/ HTTP/1.1\r\nHost: localhost\r\nX-Slow: "
    body = (
        b"POST /login/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 50000\r\n"
        b"Content-Type: application/x-www-form-urlencoded\r\n\r\nusername="
    )

    def begin(n: int) -> socket.socket:
        source = (OTHERS[n % len(OTHERS)], 0)
        link = socket.create_connection(("127.0.0.1", port), PATIENCE, source)
        link.sendall(head if n % 2 else body)
        return link

    def hold() -> None:
        links = [begin(n) for n in range(count)]
        opened.set()
        while not stop.wait(1):
            for n, link in enumerate(links):
                try:
                    link.sendall(b"x")  # as slowly as they can
                except OSError:
                    link.close()
                    links[n] = begin(n)
        for link in links:
            link.close()

    thread = threading.Thread(target=hold)
    thread.start()
    opened.wait(PATIENCE)
    try:
        yield
    finally:
        stop.set()
        thread.join()


@contextlib.contextmanager
def half_open_apart(port: int) -> Iterator[None]:
    """In a process of their own: this one, which measures, has enough to do."""
    command = [sys.executable, "-m", "tests.bench.load", "--hold", str(port)]
    process = subprocess.Popen(
        command, cwd=CHECKOUT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    with process:
        assert process.stdout is not None
        assert process.stdout.readline(), "none could be opened"
        yield
        process.communicate("\n")


def hold_until_told(port: int) -> int:
    with half_open(port):
        print("held", flush=True)
        sys.stdin.readline()
    return 0


def worked(session: int) -> float:
    """Seconds of the processor that the processes of a session took so far."""
    total = 0
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            said = stat.read_text().rpartition(") ")[2].split()
            if int(said[3]) == session:
                total += int(said[11]) + int(said[12])
    return total / os.sysconf("SC_CLK_TCK")


def compare(port: int, session: int, login: tuple[str, str], seconds: float) -> int:
    """Prints what was found; the exit code. `session`: of the web server."""
    alone, beside = Times(), Times()
    people = come_in(port, login)
    for n in range(ROUNDS):
        times = beside if n % 2 else alone
        with half_open_apart(port) if n % 2 else contextlib.nullcontext():
            before = worked(session)
            found = measure(people, seconds / ROUNDS)
            times.worked += worked(session) - before
        times.taken += found.taken
        times.wrong += found.wrong
    wrong = alone.wrong + beside.wrong
    print(f"{PEOPLE} people, {len(alone.taken) + len(beside.taken)} answers")
    print(f"p95: {alone.p95:.0f} ms; beside {HALF_OPEN} half open: {beside.p95:.0f} ms")
    print(f"ratio: {beside.p95 / alone.p95:.2f}" if alone.p95 else "nothing measured")
    print(
        f"processor: {alone.cost:.1f} ms an answer; beside these: {beside.cost:.1f} ms"
    )
    print("\n".join(sorted(set(wrong))[:10]) if wrong else "no error")
    return 1 if wrong or not alone.taken or not beside.taken else 0


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.load")
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--hold", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.hold:
        return hold_until_told(options.hold)
    with house(postgres=options.postgres) as home:
        if not options.postgres:
            home.start_broker()
        run = [sys.executable, "-m", "rigsite.prepare"]
        subprocess.run(run, cwd=CHECKOUT, env=home.env, check=True)
        load = [sys.executable, "manage.py", "load_demo"]
        said = subprocess.run(
            load, cwd=CHECKOUT, env=home.env, check=True, capture_output=True, text=True
        ).stdout
        names = re.search(r"one of: ([\w-]+)", said)
        password = (home.folder / "demo-login.txt").read_text().strip()
        home.start_worker()
        server, port = home.start_web()
        wait_for(lambda: _answers(port), what="web server")
        assert server.process is not None
        login = names[1] if names else "", password
        return compare(port, server.process.pid, login, options.seconds)


def _answers(port: int) -> bool:
    with contextlib.suppress(OSError):
        return Person(port).ask("/login/")[0] == 200
    return False


if __name__ == "__main__":
    os.environ.setdefault("LOG_LEVEL", "WARNING")
    sys.exit(main())
