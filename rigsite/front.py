"""How the web server receives: waitress, which reads a request whole before a thread of
ours sees it and sends an answer without one, held in bounds that nobody can fill for
the others. Why it is this server stands in DEVELOPERS.md.

The address that counts here is that of the connection, which no header can change, and
of IPv6 the network that it is in."""

import json
import socket
import time
from collections import Counter
from collections.abc import Callable
from functools import partial
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import BaseWSGIServer, TcpWSGIServer
from waitress.utilities import Error, RequestEntityTooLarge

from rigsite.bounds import (
    MOST_FOR_MEMBERS,
    MOST_FOR_STRANGERS,
    SESSION_COOKIE,
    TOO_LARGE,
    network_of,
)
from rigsite.handing import LONGEST_NOTE

MOST_CONNECTIONS = 800  # of one process; beyond, the oldest idle one makes room
MOST_OF_AN_ADDRESS = 100
HEAD_WITHIN = 20  # seconds until the first lines of a request are there
BODY_WITHIN = 900  # seconds; 60 MB over half a megabit
IDLE_FOR = 30  # seconds without a byte either way

MOST_UNTOLD = 1_000_000  # bytes of a body that does not say how long it is
# Bytes of all bodies that one process receives at once: what they can take of the disk.
MOST_AT_ONCE = 500_000_000
MOST_AT_ONCE_OF_AN_ADDRESS = 250_000_000

TOO_MUCH = "Rigsite is busy right now. Try again in a minute."


class TooMuchAtOnce(Error):
    code = 503
    reason = "Service Unavailable"


class BoundedParser(HTTPRequestParser):
    """Refuses a body as soon as its head is there, before anything is kept of it."""

    def __init__(self, adj: Adjustments, channel: "BoundedChannel") -> None:
        super().__init__(adj)
        self.channel = channel
        self.judged = False

    def received(self, data: bytes) -> int:
        consumed = super().received(data)
        if self.headers_finished and not self.judged and self.error is None:
            self.judged = True
            self._refuse(self._wrong_with_body())
        elif self.chunked and self.body_bytes_received > self._most_untold():
            self._refuse(RequestEntityTooLarge(TOO_LARGE))
        return consumed

    def _refuse(self, error: Error | None) -> None:
        if error is not None:
            self.error, self.completed = error, True
            self.expect_continue = False

    def _most_untold(self) -> int:
        return min(MOST_UNTOLD, self._most())

    def _most(self) -> int:
        has_session = SESSION_COOKIE in self.headers.get("COOKIE", "")
        return MOST_FOR_MEMBERS if has_session else MOST_FOR_STRANGERS

    def _wrong_with_body(self) -> Error | None:
        if self.content_length > self._most():
            return RequestEntityTooLarge(TOO_LARGE)
        if self.content_length > MOST_FOR_STRANGERS and not self.channel.has_room():
            return TooMuchAtOnce(TOO_MUCH)
        return None


class BoundedChannel(HTTPChannel):
    def __init__(self, server: Any, *arguments: Any, **options: Any) -> None:
        self.parser_class = partial(BoundedParser, channel=self)
        super().__init__(server, *arguments, **options)
        self.request_since = self.creation_time

    @property
    def address(self) -> str:
        return str(self.addr[0])

    @property
    def network(self) -> str:
        return network_of(self.address)

    @property
    def idle(self) -> bool:
        """Nothing of it is at work or on its way out."""
        return not self.requests and not self.total_outbufs_len

    @property
    def receiving(self) -> int:
        """Bytes of the bodies that it sends, as it told."""
        under_way = [*self.requests, *([self.request] if self.request else [])]
        return sum(request.content_length for request in under_way)

    def has_room(self) -> bool:
        """Whether its bodies fit beside all those that are being received."""
        channels = self.server.all_channels()
        mine = sum(each.receiving for each in channels if each.network == self.network)
        bounded = mine <= MOST_AT_ONCE_OF_AN_ADDRESS or self.server.trusts(self.address)
        return bounded and sum(each.receiving for each in channels) <= MOST_AT_ONCE

    def received(self, data: bytes) -> bool:
        if self.request is None:
            self.request_since = time.time()
        return super().received(data)

    def is_late(self, now: float) -> bool:
        """Whether a request has been under way for too long, byte by byte."""
        if not self.idle:
            return False
        if self.request is None or not self.request.headers_finished:
            since = self.request_since if self.request else self.last_activity
            return now - since > (HEAD_WITHIN if self.request else IDLE_FOR)
        return now - self.request_since > BODY_WITHIN


class _Bounds:
    """What both kinds of server share. `_map` holds the channels of all of them."""

    channel_class = BoundedChannel
    _map: dict[int, Any]
    adj: Any

    def all_channels(self) -> list[BoundedChannel]:
        found = list(self._map.values())
        return [each for each in found if isinstance(each, BoundedChannel)]

    def trusts(self, address: str) -> bool:
        """Behind the named proxy are all visitors, on this machine is its owner."""
        return address == self.adj.trusted_proxy or is_loopback(address)

    def has_place_for(self, address: str) -> bool:
        channels = self.all_channels()
        count = Counter(each.network for each in channels)
        here = count[network_of(address)]
        if here >= MOST_OF_AN_ADDRESS and not self.trusts(address):
            return False
        if len(channels) < MOST_CONNECTIONS:
            return True
        return self._make_room(channels, count)

    @staticmethod
    def _make_room(channels: list[BoundedChannel], count: Counter[str]) -> bool:
        """Close the longest idle connection of whoever has most of them."""
        idle = [each for each in channels if each.idle]
        if not idle:
            return False
        most = max(count[each.network] for each in idle)
        theirs = [each for each in idle if count[each.network] == most]
        min(theirs, key=lambda each: each.request_since).handle_close()
        return True

    def maintenance(self, now: float) -> None:
        super().maintenance(now)  # type: ignore[misc]
        for channel in self.all_channels():
            if channel.is_late(now):
                channel.will_close = True


def is_loopback(address: str) -> bool:
    return address in ("127.0.0.1", "::1")


class PlainServer(_Bounds, TcpWSGIServer):
    """On a TCP port, without encryption."""

    def accept(self) -> tuple[socket.socket, Any] | None:
        taken = super().accept()
        if taken is None or self.has_place_for(taken[1][0]):
            return taken
        taken[0].close()
        return None


class HandedServer(_Bounds, BaseWSGIServer):
    """Takes connections that the secure door has decrypted: over a socket come one end
    of a pair and the visitor's address (`rigsite/secure_door.py`)."""

    def getsockname(self) -> tuple[str, str]:
        return "secure door", ""

    def set_reuse_addr(self) -> None:
        pass  # nothing is bound

    def accept_connections(self) -> None:
        self.accepting = True

    def accept(self) -> tuple[socket.socket, Any] | None:
        try:
            note, handles, _flags, _from = socket.recv_fds(
                self.socket, LONGEST_NOTE, maxfds=1
            )
        except BlockingIOError:  # the other process was quicker
            return None
        if not handles:
            return None
        connection = socket.socket(fileno=handles[0])
        host, port = json.loads(note)
        if self.has_place_for(host):
            return connection, (host, port)
        connection.close()
        return None


def settings_for(*, threads: int, trusted_proxy: str, scheme: str) -> Adjustments:
    """What waitress is told. Headers about the way are taken from the named proxy
    alone, and struck out where anybody else sends them."""
    proxy = {"trusted_proxy": trusted_proxy} if trusted_proxy else {}
    headers = {"x-forwarded-for", "x-forwarded-proto"} if trusted_proxy else set()
    return Adjustments(
        threads=threads,
        url_scheme=scheme,
        ident=None,
        backlog=1024,
        asyncore_use_poll=True,
        channel_timeout=IDLE_FOR,
        cleanup_interval=5,
        connection_limit=MOST_CONNECTIONS * 2,
        max_request_header_size=32_768,
        max_request_body_size=1 << 62,  # BoundedParser decides, in its own words
        clear_untrusted_proxy_headers=True,
        trusted_proxy_headers=headers,
        **proxy,
    )


def serve_until(
    stopping: Callable[[], bool], map_: dict[int, Any], servers: list[Any]
) -> None:
    """Serve; then take nothing new, and give what is under way ten seconds."""
    wasyncore = servers[0].asyncore
    while not stopping():
        wasyncore.loop(timeout=0.5, use_poll=True, map=map_, count=1)
    for server in servers:
        server.accepting = False
    until = time.monotonic() + 10
    while time.monotonic() < until:
        if all(channel.idle for channel in servers[0].all_channels()):
            break
        wasyncore.loop(timeout=0.1, use_poll=True, map=map_, count=1)
    servers[0].task_dispatcher.shutdown(timeout=1)
