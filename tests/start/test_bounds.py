"""When a connection is late, and who makes room: no sockets, by the clock alone."""

from types import SimpleNamespace

import pytest

from rigsite.bounds import network_of
from rigsite.front import (
    BODY_WITHIN,
    HEAD_WITHIN,
    IDLE_FOR,
    MOST_CONNECTIONS,
    MOST_OF_AN_ADDRESS,
    BoundedChannel,
    PlainServer,
)

NOW = 1_000_000.0
HEAD = SimpleNamespace(headers_finished=False, content_length=0)
BODY = SimpleNamespace(headers_finished=True, content_length=50_000)


class Channel(BoundedChannel):
    """One that waits, as the server sees it."""

    def __init__(self, address="192.0.2.7", *, since=NOW, request=None, works=False):
        self.addr = (address, 50_000)
        self.requests = [BODY] if works else []
        self.total_outbufs_len = 0
        self.request, self.request_since, self.last_activity = request, since, since
        self.closed = False

    def handle_close(self) -> None:
        self.closed = True


def server(channels: list[Channel], trusted: str = "") -> PlainServer:
    made = PlainServer.__new__(PlainServer)
    made._map = dict(enumerate(channels))
    made.adj = SimpleNamespace(trusted_proxy=trusted)
    return made


@pytest.mark.parametrize(
    ("request_", "seconds"),
    [(HEAD, HEAD_WITHIN), (BODY, BODY_WITHIN), (None, IDLE_FOR)],
)
def test_connection_when_it_drips_then_late_in_time(request_, seconds):
    def is_late(after: float) -> bool:
        return Channel(since=NOW - after, request=request_).is_late(NOW)

    assert not is_late(seconds - 1)
    assert is_late(seconds + 1)


def test_connection_when_we_are_at_work_for_it_then_never_late():
    assert not Channel(since=0, works=True).is_late(NOW)


def test_address_when_it_has_many_connections_then_no_more_but_others_come_in():
    full = server([Channel() for _ in range(MOST_OF_AN_ADDRESS)])

    assert not full.has_place_for("192.0.2.7")
    assert full.has_place_for("192.0.2.8")


@pytest.mark.parametrize("trusted", ["127.0.0.1", "10.0.0.2"])
def test_proxy_when_it_has_many_connections_then_it_may_since_all_are_behind_it(
    trusted,
):
    channels = [Channel(trusted) for _ in range(MOST_OF_AN_ADDRESS)]

    assert server(channels, "10.0.0.2").has_place_for(trusted)


def test_connections_when_all_are_taken_then_the_greediest_makes_room():
    greedy = [
        Channel(f"192.0.2.{n % 9}", since=NOW + n) for n in range(MOST_CONNECTIONS - 1)
    ]
    modest = Channel("198.51.100.1", since=NOW - 1000)
    full = server([modest, *greedy])

    assert full.has_place_for("198.51.100.2")
    assert [each for each in full.all_channels() if each.closed] == [greedy[0]]


def test_connections_when_all_are_at_work_then_a_new_one_waits_outside():
    full = server(
        [Channel(f"192.0.2.{n % 9}", works=True) for n in range(MOST_CONNECTIONS)]
    )

    assert not full.has_place_for("198.51.100.2")


def test_connections_when_a_network_has_many_then_it_gets_no_more():
    """By whichever of its addresses."""
    theirs = [Channel(f"2001:db8:1:2::{n:x}") for n in range(MOST_OF_AN_ADDRESS)]

    assert not server(theirs).has_place_for("2001:db8:1:2:ffff::1")
    assert server(theirs).has_place_for("2001:db8:1:3::1")


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::"),
        ("fe80::1%eth0", "fe80::"),
        ("secure door", "secure door"),
    ],
)
def test_network_when_asked_for_then_the_half_that_is_no_ones_to_choose(
    address, network
):
    assert network_of(address) == network
