"""The web server and the secure door as strangers meet them: half-open connections,
bodies without end, claimed addresses, the first run. 127.0.0.2 is the other machine."""

import contextlib
import http.client
import os
import select
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from rigsite.children import Supervisor
from rigsite.front import MOST_AT_ONCE_OF_AN_ADDRESS
from rigsite.paths import CHECKOUT, broker_socket, private_folder
from rigsite.processes import secure_door, web
from tests.bench.load import filled, half_open
from tests.servers import PATIENCE, free_port, wait_for
from tests.start.program import processes_of

pytestmark = pytest.mark.whole_program

NAME = "den.local"
OTHER, THIRD = "127.0.0.2", "127.0.0.3"
ANSWERS = (200, 302)  # the page to log in, or to begin, whatever ran before
FOUNDED = {
    "name": "Ada",
    "username": "ada",
    "email": "ada@example.org",
    "password": "quiet-paper-lantern",
    "again": "quiet-paper-lantern",
    "household": "Alder Lane",
    "country": "US",
    "distance_unit": "mi",
    "currency": "USD",
    "timezone": "America/Denver",
}


@dataclass
class Answer:
    status: int
    headers: http.client.HTTPMessage
    text: str


@dataclass
class Served:
    """A web server behind a secure door, over a database of its own."""

    data: Path
    port: int
    tls_port: int

    @property
    def code(self) -> str:
        return (self.data / "founding-code").read_text()

    def ask(
        self, path: str, *, source: str = "127.0.0.1", tls: bool = False, **more
    ) -> Answer:
        method, body = more.pop("method", "GET"), more.pop("body", None)
        link = http.client.HTTPConnection(
            "127.0.0.1", self.port, PATIENCE, source_address=(source, 0)
        )
        if tls:
            link.port = self.tls_port
            link.connect()
            link.sock = self.trusting().wrap_socket(link.sock, server_hostname=NAME)
        host = f"{NAME}:{self.tls_port}" if tls else f"localhost:{self.port}"
        with contextlib.closing(link):
            link.request(method, path, body, {"Host": host, **more.pop("headers", {})})
            answer = link.getresponse()
            return Answer(answer.status, answer.headers, answer.read().decode())

    def trusting(self) -> ssl.SSLContext:
        """As a phone that has installed the certificate."""
        return ssl.create_default_context(cafile=self.data / "lan" / "authority.crt")

    def post(self, path: str, typed: dict[str, str], **how) -> Answer:
        page = self.ask(path, **how)
        cookies = [
            each.partition(";")[0] for each in page.headers.get_all("Set-Cookie") or []
        ]
        body = "&".join(f"{k}={v}" for k, v in filled(page.text, **typed))
        headers = {
            "Cookie": "; ".join(cookies),
            "Content-Type": "application/x-www-form-urlencoded",
            "Origin": f"https://{NAME}:{self.tls_port}",
        }
        if not how.get("tls"):
            del headers["Origin"]
        headers |= how.pop("headers", {})
        return self.ask(path, method="POST", body=body, headers=headers, **how)


@contextlib.contextmanager
def serving(data: Path) -> Iterator[Served]:
    served = Served(data, free_port(), free_port())
    env = os.environ | {
        "RIGSITE_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "rigsite.settings",
        "RIGSITE_LAN": "true",
        "LAN_ADDRESS": f"https://{NAME}:{served.tls_port}",
        "LOG_LEVEL": "WARNING",
    }
    for name in ("DATABASE_URL", "REDIS_URL"):
        env.pop(name, None)
    handed = private_folder(broker_socket(data).parent) / "door.sock"
    for module in (["rigsite.certificate", NAME], ["rigsite.prepare"]):
        run = [sys.executable, "-m", *module]
        subprocess.run(run, cwd=CHECKOUT, env=env, check=True, capture_output=True)
    family = Supervisor(data / "log")
    bind = f"127.0.0.1:{served.port}"
    door = secure_door(
        env,
        f"127.0.0.1:{served.tls_port}",
        certificate=data / "lan" / "door.crt",
        key=data / "lan" / "door.key",
        web_server=handed,
    )
    try:
        family.start(web(env, bind, handed=handed))
        family.start(door)
        wait_for(lambda: _answers(served), what="web server")
        wait_for(lambda: _is_up(served.tls_port), what="secure door")
        yield served
    finally:
        family.stop()
        family.output.close()


def _answers(served: Served) -> bool:
    with contextlib.suppress(OSError):
        return served.ask("/login/").status in ANSWERS
    return False


def _is_up(port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port)):
        return True
    return False


@pytest.fixture(scope="module")
def served(
    migrated: Callable[[Path], Path], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Served]:
    with serving(migrated(tmp_path_factory.mktemp("front"))) as found:
        yield found


def test_page_when_two_hundred_connections_hang_half_open_then_it_answers(served):
    with half_open(served.port), half_open(served.tls_port):
        assert served.ask("/login/").status in ANSWERS
        assert served.ask("/login/", tls=True, source=OTHER).status in ANSWERS


def test_body_when_it_is_huge_and_from_nobody_then_refused_by_its_head(served):
    head = (
        b"POST /login/ HTTP/1.1\r\nHost: localhost\r\n"
        b"Content-Length: 1000000000\r\n\r\n"
    )
    before = shutil.disk_usage(served.data).free
    with socket.create_connection(("127.0.0.1", served.port), PATIENCE) as link:
        link.sendall(head)
        answer = b"".join(iter(lambda: link.recv(1000), b"")).decode()

    assert answer.startswith("HTTP/1.1 413 ")
    assert "Nothing was saved" in answer
    assert before - shutil.disk_usage(served.data).free < 100_000_000


def test_body_when_it_does_not_tell_its_end_then_it_is_cut(served):
    head = b"POST /login/ HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked"
    piece = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
    with socket.create_connection(("127.0.0.1", served.port), PATIENCE) as link:
        link.sendall(head + b"\r\n\r\n")
        sent = 0
        with contextlib.suppress(OSError):  # it hangs up on us
            while sent < 50_000_000:
                link.sendall(piece)
                sent += len(piece)

    assert sent < 50_000_000


def _with_an_answer(links: list[socket.socket]) -> list[socket.socket]:
    return select.select(links, [], [], 0)[0]


def test_bodies_when_many_are_sent_at_once_then_no_more_than_fit(served):
    """Two processes, each with its own share for an address."""
    head = (
        b"POST /login/ HTTP/1.1\r\nHost: localhost\r\nCookie: rigsite_session=x\r\n"
        b"Content-Length: 120000000\r\n\r\n"
    )
    with contextlib.ExitStack() as stack:
        links = []
        for _ in range(12):
            link = socket.create_connection(
                ("127.0.0.1", served.port), PATIENCE, (THIRD, 0)
            )
            links.append(stack.enter_context(link))
            link.sendall(head)
        most = 2 * (MOST_AT_ONCE_OF_AN_ADDRESS // 120_000_000)
        wait_for(lambda: len(_with_an_answer(links)) >= 12 - most, what="refusals")
        answered = [link.recv(1000) for link in _with_an_answer(links)]

    assert all(each.startswith(b"HTTP/1.1 503 ") for each in answered)


def test_login_when_a_header_claims_other_addresses_then_locked_all_the_same(served):
    token = "a" * 32  # as if a page had given it
    body = f"csrfmiddlewaretoken={token}&username=nobody&password=wrong"
    found = [
        served.ask(
            "/login/",
            method="POST",
            body=body,
            tls=True,
            source=THIRD,
            headers={
                "X-Forwarded-For": f"203.0.113.{n}",
                "Cookie": f"csrftoken={token}",
                "Origin": f"https://{NAME}:{served.tls_port}",
                "Content-Type": "application/x-www-form-urlencoded",
            },
        ).status
        for n in range(9)
    ]

    assert found[0] == 200
    assert found[-1] == 429


def test_other_machine_when_not_encrypted_then_led_to_the_door_and_nowhere_else(served):
    page = served.ask("/", source=OTHER)
    login = served.ask("/login/", source=OTHER, method="POST", body="password=x")
    authority = served.ask("/certificate.crt", source=OTHER)

    assert page.status == 200
    assert f"https://{NAME}:{served.tls_port}/" in page.text
    assert "password" not in page.text
    assert login.status == 403
    assert "BEGIN CERTIFICATE" in authority.text
    assert authority.headers["Content-Type"] == "application/x-x509-ca-cert"


def test_door_when_old_tls_is_spoken_then_refused_and_the_newest_is_taken(served):
    def version(most: ssl.TLSVersion) -> str | None:
        speaks = served.trusting()
        speaks.set_ciphers("DEFAULT:@SECLEVEL=0")  # that it asks for old ones at all
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            speaks.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
            speaks.maximum_version = most
        with (
            socket.create_connection(("127.0.0.1", served.tls_port), PATIENCE) as link,
            speaks.wrap_socket(link, server_hostname=NAME) as door,
        ):
            return door.version()

    assert version(ssl.TLSVersion.MAXIMUM_SUPPORTED) == "TLSv1.3"
    assert version(ssl.TLSVersion.TLSv1_2) == "TLSv1.2"
    with pytest.raises(OSError, match=r"PROTOCOL_VERSION|UNEXPECTED_EOF|reset"):
        version(ssl.TLSVersion.TLSv1_1)


def test_handshake_when_it_never_comes_then_others_come_in(served):
    with contextlib.ExitStack() as stack:
        for n in range(200):
            source = (f"127.0.0.{10 + n % 4}", 0)
            link = socket.create_connection(
                ("127.0.0.1", served.tls_port), PATIENCE, source
            )
            stack.enter_context(link)

        assert served.ask("/login/", tls=True, source=OTHER).status in ANSWERS


def test_first_run_when_several_try_then_only_with_the_code_and_one_wins(served):
    """One test, since it can be won but once."""
    without = served.ask("/welcome/", tls=True, source=OTHER)
    guessed = served.ask("/welcome/?code=guessed", tls=True, source=OTHER)
    posted = served.ask("/welcome/", tls=True, source=OTHER, method="POST", body="x=1")
    shown = served.ask(f"/welcome/?code={served.code}", tls=True, source=OTHER)
    here = served.ask("/welcome/")

    assert [without.status, guessed.status, posted.status] == [403, 403, 403]
    assert [shown.status, here.status] == [200, 200]
    assert "on that computer's screen" in without.text
    _is_bound_to_encryption(shown)

    found = _try_at_once(served)

    won = [each for each in found if each.headers.get("Location") == "/rigs/add/"]
    assert len(won) == 1, [each.status for each in found]
    assert len(found) == 6
    assert not (served.data / "founding-code").exists()
    assert served.ask("/welcome/").status == 302


def _is_bound_to_encryption(answer: Answer) -> None:
    cookies = answer.headers.get_all("Set-Cookie")
    assert cookies
    assert all("Secure" in each for each in cookies)
    # The name of this machine may change.
    assert "Strict-Transport-Security" not in answer.headers


def _try_at_once(served: Served) -> list[Answer]:
    found: list[Answer] = []
    where = f"/welcome/?code={served.code}"

    def try_it(n: int) -> None:
        typed = FOUNDED | {"username": f"ada{n}", "household": f"House {n}"}
        how = {"tls": True, "source": OTHER} if n % 2 else {}
        found.append(served.post(where if n % 2 else "/welcome/", typed, **how))

    threads = [threading.Thread(target=try_it, args=(n,)) for n in range(6)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return found


def test_process_when_it_dies_then_another_takes_its_place(served):
    def webs() -> set[int]:
        found = processes_of(served.data)
        return {pid for pid, line in found if "rigsite.web" in line}

    wait_for(lambda: len(webs()) == 3, what="all processes")
    before = webs()
    master = min(before)
    os.kill(max(before - {master}), signal.SIGKILL)

    wait_for(lambda: len(webs()) == 3 and webs() != before, what="another process")
    assert served.ask("/login/").status in ANSWERS
