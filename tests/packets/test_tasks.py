"""The jobs, run by a real worker over a real broker."""

import pytest
from celery.contrib.testing.worker import start_worker

from maintenance.packets.files import path_of
from maintenance.packets.models import Packet, PacketState
from maintenance.packets.services import ask_for_history
from maintenance.packets.tasks import render_packet, sweep_packets
from rigsite.celery import app
from tests.builders import TODAY, make_member, make_rig
from tests.servers import wait_for


def test_packet_that_is_gone_is_no_work(db):
    render_packet(4711)


@pytest.mark.django_db(transaction=True)
def test_worker_makes_what_a_member_asked_for(broker):
    rig = make_rig(name="Marlow")
    crew = make_member(rig.household, "crew")

    with start_worker(
        app, pool="solo", perform_ping_check=False, queues=["long", "rigsite"]
    ):
        packet = ask_for_history(rig, by=crew, today=TODAY)
        wait_for(lambda: _state(packet) == "ready", what="the packet")

    assert path_of(packet).read_bytes().startswith(b"%PDF-")


@pytest.mark.django_db(transaction=True)
def test_sweep_finds_the_row_that_no_message_tells_of(broker):
    packet = Packet.objects.create(rig=make_rig(), kind="history", as_of=TODAY)

    with start_worker(
        app, pool="solo", perform_ping_check=False, queues=["long", "rigsite"]
    ):
        sweep_packets.delay()
        wait_for(lambda: _state(packet) == "ready", what="the packet")


def _state(packet: Packet) -> str:
    state = Packet.objects.get(pk=packet.pk).state
    assert state != PacketState.FAILED
    return state
