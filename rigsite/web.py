"""The web server: loads everything once, then forks, so that its processes share what
does not change. Two processes, since threads of one share one core."""

import argparse
import logging
import os
import resource
import signal
import socket
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any

from rigsite.children import die_with_parent

PROCESSES, THREADS = 2, 4
GRACE = 11  # seconds; what is under way has ten
MOST_FILES = 4096

log = logging.getLogger(__name__)


def main() -> int:
    options = _options()
    _allow_many_files()
    plain = socket.create_server(options.bind, backlog=1024, reuse_port=False)
    handed = _handed(options.handed)
    # After the sockets: who finds the port taken need not load everything first. The
    # first of these is shared, too, since the second ends with a freeze.
    import rigsite.front  # noqa: F401, PLC0415
    from rigsite.wsgi import application  # noqa: PLC0415

    serve = partial(_serve, application, plain, handed)
    return _Master(serve, options.processes).run()


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="rigsite.web")
    parser.add_argument("--bind", type=_address, required=True)
    parser.add_argument("--processes", type=int, default=PROCESSES)
    parser.add_argument("--handed", type=Path, help="the socket of the secure door")
    return parser.parse_args()


def _address(text: str) -> tuple[str, int]:
    host, _, port = text.rpartition(":")
    return host, int(port)


def _allow_many_files() -> None:
    _soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    most = MOST_FILES if hard == resource.RLIM_INFINITY else min(MOST_FILES, hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


def _handed(path: Path | None) -> socket.socket | None:
    """Datagrams, so that each note comes whole to one of the processes."""
    if path is None:
        return None
    path.unlink(missing_ok=True)
    taken = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    taken.bind(os.fspath(path))
    path.chmod(0o600)
    return taken


def _serve(
    application: Any, plain: socket.socket, handed: socket.socket | None
) -> None:
    from waitress.task import ThreadedTaskDispatcher  # noqa: PLC0415

    from rigsite.front import HandedServer, PlainServer, serve_until  # noqa: PLC0415

    stopping = _Flag()
    signal.signal(signal.SIGTERM, stopping.raise_it)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = os.getppid()
    map_: dict[int, Any] = {}
    dispatcher = ThreadedTaskDispatcher()
    dispatcher.set_thread_count(THREADS)
    servers = [
        _server(kind, application, map_, taken, dispatcher=dispatcher, scheme=scheme)
        for kind, taken, scheme in (
            (PlainServer, plain, "http"),
            (HandedServer, handed, "https"),
        )
        if taken is not None
    ]
    # Where the kernel does not tell of the parent's death, its absence does.
    serve_until(lambda: bool(stopping) or os.getppid() != parent, map_, servers)


def _server(
    kind: Any,
    application: Any,
    map_: dict[int, Any],
    taken: socket.socket,
    *,
    dispatcher: Any,
    scheme: str,
) -> Any:
    from django.conf import settings  # noqa: PLC0415

    from rigsite.front import settings_for  # noqa: PLC0415

    return kind(
        application,
        map_,
        _sock=taken,
        dispatcher=dispatcher,
        adj=settings_for(
            threads=THREADS, trusted_proxy=settings.TRUSTED_PROXY, scheme=scheme
        ),
        sockinfo=(taken.family, taken.type, taken.proto, taken.getsockname()),
        bind_socket=False,
    )


class _Flag:
    def __init__(self) -> None:
        self.up = False

    def raise_it(self, number: int, frame: FrameType | None) -> None:
        self.up = True

    def __bool__(self) -> bool:
        return self.up


class _Master:
    """Forks the processes, and another for each that dies, until it is to stop."""

    def __init__(self, serve: Callable[[], None], processes: int) -> None:
        self.serve, self.processes = serve, processes
        self.children: set[int] = set()
        self.stopping = _Flag()

    def run(self) -> int:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self.stopping.raise_it)
        while not self.stopping:
            while len(self.children) < self.processes:
                self._fork()
            self._mourn()
            time.sleep(0.2)
        self._end()
        return 0

    def _fork(self) -> None:
        child = os.fork()
        if child:
            self.children.add(child)
            return
        code = 1
        try:
            die_with_parent(signal.SIGTERM)
            self.serve()
            code = 0
        except BaseException:
            log.exception("a process of the web server failed")
        finally:
            # Not sys.exit: what the parent wants done at its end is not for us.
            sys.stderr.flush()
            os._exit(code)

    def _mourn(self) -> None:
        for child in list(self.children):
            dead, status = os.waitpid(child, os.WNOHANG)
            if dead:
                self.children.discard(child)
                log.error("a process of the web server ended: %s; another", status)
                time.sleep(0.5)

    def _end(self) -> None:
        for child in self.children:
            os.kill(child, signal.SIGTERM)
        until = time.monotonic() + GRACE
        while self.children and time.monotonic() < until:
            for child in list(self.children):
                if os.waitpid(child, os.WNOHANG)[0]:
                    self.children.discard(child)
            time.sleep(0.05)


if __name__ == "__main__":
    sys.exit(main())
