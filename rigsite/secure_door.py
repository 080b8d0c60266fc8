"""The way in for other machines with encryption: takes TLS connections and hands them,
decrypted, to the web server, which speaks none itself. It knows nothing of HTTP and
nothing of the program. Standard library only.

What a visitor can hold here is a handshake of ten seconds and a hundred connections;
what comes after the handshake is bounded by `rigsite/front.py`."""

import argparse
import asyncio
import contextlib
import json
import os
import signal
import socket
import ssl
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from rigsite.bounds import network_of

HANDSHAKE_WITHIN = 10.0  # seconds
MOST_CONNECTIONS = 1000
MOST_OF_AN_ADDRESS = 100
PIECE = 65536  # bytes


class Door:
    def __init__(self, web_server: Path) -> None:
        self.web_server = web_server
        self.guests: Counter[str] = Counter()

    async def open(self, bind: tuple[str, int], secrets: ssl.SSLContext) -> None:
        """The limits count from the first byte on, so TLS begins after them."""
        listening = socket.create_server(bind, backlog=1024)
        listening.setblocking(False)
        loop = asyncio.get_running_loop()
        at_work: set[asyncio.Task[None]] = set()
        while True:
            try:
                guest, address = await loop.sock_accept(listening)
            except OSError:  # gone again, or no file handle is free
                await asyncio.sleep(0.05)
                continue
            host = network_of(str(address[0]))
            if not self._lets_in(host):
                guest.close()
                continue
            self.guests[host] += 1
            task = loop.create_task(self._serve(guest, host, address, secrets))
            at_work.add(task)
            task.add_done_callback(at_work.discard)

    def _lets_in(self, host: str) -> bool:
        mine, all_of_them = self.guests[host], self.guests.total()
        return mine < MOST_OF_AN_ADDRESS and all_of_them < MOST_CONNECTIONS

    async def _serve(
        self,
        guest: socket.socket,
        host: str,
        address: tuple[str, int],
        secrets: ssl.SSLContext,
    ) -> None:
        try:
            with contextlib.suppress(OSError, ssl.SSLError, asyncio.TimeoutError):
                await self._pass_on(guest, address, secrets)
        finally:
            guest.close()
            self.guests[host] -= 1
            self.guests += Counter()  # drops those that are at nought

    async def _pass_on(
        self, guest: socket.socket, address: tuple[str, int], secrets: ssl.SSLContext
    ) -> None:
        outside = await _decrypted(guest, secrets)
        try:
            ours, theirs = socket.socketpair()
            with theirs:
                self._hand(theirs, address)
            inside = await asyncio.open_connection(sock=ours)
            await _both_ways(outside, inside)
        finally:
            outside[1].close()

    def _hand(self, connection: socket.socket, address: tuple[str, int]) -> None:
        note = json.dumps(address[:2]).encode()
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as link:
            link.setblocking(False)
            link.connect(os.fspath(self.web_server))
            socket.send_fds(link, [note], [connection.fileno()])


Streams = tuple[asyncio.StreamReader, asyncio.StreamWriter]


async def _decrypted(guest: socket.socket, secrets: ssl.SSLContext) -> Streams:
    loop = asyncio.get_running_loop()
    reader = asyncio.StreamReader(limit=PIECE, loop=loop)
    protocol = asyncio.StreamReaderProtocol(reader, loop=loop)
    transport, _ = await loop.connect_accepted_socket(
        lambda: protocol,
        guest,
        ssl=secrets,
        ssl_handshake_timeout=HANDSHAKE_WITHIN,
        ssl_shutdown_timeout=2.0,
    )
    return reader, asyncio.StreamWriter(transport, protocol, reader, loop)


async def _both_ways(outside: Streams, inside: Streams) -> None:
    """Until the web server has closed its end: it says when a visitor is late."""
    coming = asyncio.ensure_future(_copy(outside[0], inside[1]))
    try:
        await _copy(inside[0], outside[1])
    finally:
        coming.cancel()
        inside[1].close()
        with contextlib.suppress(asyncio.CancelledError, OSError, ssl.SSLError):
            await coming


async def _copy(source: asyncio.StreamReader, target: asyncio.StreamWriter) -> None:
    while piece := await source.read(PIECE):
        target.write(piece)
        await target.drain()
    if target.can_write_eof():
        target.write_eof()


def context(
    certificate: Path, key: Path, *, password: Callable[[], bytes] | None = None
) -> ssl.SSLContext:
    made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made.minimum_version = ssl.TLSVersion.TLSv1_2
    made.set_alpn_protocols(["http/1.1"])
    made.load_cert_chain(certificate, key, password)
    return made


async def _run(options: argparse.Namespace) -> None:
    door = Door(options.web_server)
    task = asyncio.current_task()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, task.cancel)  # type: ignore[union-attr]
    with contextlib.suppress(asyncio.CancelledError):
        await door.open(options.bind, context(options.cert, options.key))


def main() -> int:
    parser = argparse.ArgumentParser(prog="rigsite.secure_door")
    parser.add_argument("--bind", type=_address, required=True)
    parser.add_argument("--cert", type=Path, required=True)
    parser.add_argument("--key", type=Path, required=True)
    parser.add_argument("--web-server", type=Path, required=True)
    asyncio.run(_run(parser.parse_args()))
    return 0


def _address(text: str) -> tuple[str, int]:
    host, _, port = text.rpartition(":")
    return host, int(port)


if __name__ == "__main__":
    sys.exit(main())
