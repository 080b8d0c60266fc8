"""Asking for a packet, stopping one, taking one off the list."""

import pytest
from celery import current_app
from kombu.exceptions import OperationalError

from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused
from maintenance.packets.files import path_of
from maintenance.packets.models import Packet, PacketState
from maintenance.packets.services import (
    MOST_IN_WORK,
    ask_for_history,
    remove_packet,
    stop_packet,
)
from tests.builders import TODAY, make_household, make_member, make_rig

pytestmark = pytest.mark.django_db


@pytest.fixture
def sent(monkeypatch) -> list[list[int]]:
    """What was handed to the workers."""
    found: list[list[int]] = []
    monkeypatch.setattr(
        current_app, "send_task", lambda _name, args: found.append(args)
    )
    return found


def make_packet(rig=None, **fields) -> Packet:
    return Packet.objects.create(
        rig=rig or make_rig(), kind="history", as_of=TODAY, **fields
    )


def ask(rig, role="crew") -> Packet:
    return ask_for_history(rig, by=make_member(rig.household, role), today=TODAY)


def test_asking_makes_a_row_and_tells_the_workers(
    sent, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        packet = ask(make_rig())

    assert (packet.state, packet.as_of) == (PacketState.QUEUED, TODAY)
    assert sent == [[packet.pk]]


def test_asking_twice_while_one_is_in_work_gives_the_same(sent):
    rig = make_rig()

    assert ask(rig) == ask(rig)


def test_asking_after_one_is_ready_makes_another(sent):
    rig = make_rig()
    ready = make_packet(rig, state=PacketState.READY)

    assert ask(rig) != ready


def test_asking_without_a_broker_keeps_the_row(
    monkeypatch, django_capture_on_commit_callbacks
):
    def down(_name, args):
        raise OperationalError("refused")

    monkeypatch.setattr(current_app, "send_task", down)

    with django_capture_on_commit_callbacks(execute=True):
        packet = ask(make_rig())

    packet.refresh_from_db()
    assert packet.state == PacketState.QUEUED


@pytest.mark.parametrize("state", ["queued", "rendering"])
def test_stopping_ends_what_is_in_work(state):
    packet = make_packet(state=state)

    stop_packet(packet, by=make_member(packet.rig.household, "crew"))

    packet.refresh_from_db()
    assert packet.state == PacketState.STOPPED


def test_stopping_what_is_ready_is_refused():
    packet = make_packet(state=PacketState.READY)

    with pytest.raises(Refused, match="already done or stopped"):
        stop_packet(packet, by=make_member(packet.rig.household, "crew"))


def test_removing_takes_the_row_and_its_file(django_capture_on_commit_callbacks):
    packet = make_packet(state=PacketState.READY)
    path = path_of(packet)
    path.parent.mkdir(parents=True)
    path.write_bytes(b"%PDF")

    with django_capture_on_commit_callbacks(execute=True):
        remove_packet(packet, by=make_member(packet.rig.household, "crew"))

    assert not path.exists()
    assert not Packet.objects.exists()


def test_removing_what_is_being_made_is_refused():
    packet = make_packet(state=PacketState.RENDERING)

    with pytest.raises(Refused, match="Stop it first"):
        remove_packet(packet, by=make_member(packet.rig.household, "crew"))


def test_viewer_may_neither_ask_nor_stop_nor_remove():
    packet = make_packet()
    viewer = make_member(packet.rig.household, "viewer")

    with pytest.raises(NotAllowed):
        ask_for_history(packet.rig, by=viewer, today=TODAY)
    with pytest.raises(NotAllowed):
        stop_packet(packet, by=viewer)
    with pytest.raises(NotAllowed):
        remove_packet(packet, by=viewer)


def test_prints_when_many_of_a_household_wait_then_no_more_are_taken():
    household = make_household()
    by = make_member(household)
    rigs = [make_rig(household) for _ in range(MOST_IN_WORK + 1)]
    for rig in rigs[:-1]:
        ask_for_history(rig, by=by, today=TODAY)

    with pytest.raises(Refused, match="waiting or being made"):
        ask_for_history(rigs[-1], by=by, today=TODAY)

    other = make_rig(make_household())
    assert ask_for_history(other, by=make_member(other.household), today=TODAY)
    Packet.objects.filter(rig=rigs[0]).update(state=PacketState.READY)
    assert ask_for_history(rigs[-1], by=by, today=TODAY)
