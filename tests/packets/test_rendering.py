"""Making a packet: claims, progress, and every way in which it can end."""

import logging
from datetime import timedelta
from io import StringIO

import pypdf
import pytest
from django.core.management import call_command
from django.utils import timezone

from maintenance.jobs import services
from maintenance.jobs.lease import MOST_TRIES
from maintenance.jobs.services import sweep
from maintenance.packets import rendering
from maintenance.packets.files import path_of
from maintenance.packets.models import Packet, PacketState
from maintenance.packets.printing import (
    PrintFailed,
    PrintStopped,
    PrintTooLong,
    Progress,
)
from maintenance.packets.rendering import make_packet, take_claim
from maintenance.plans.models import Standing
from maintenance.service_records import proof
from tests.builders import TODAY, make_item, make_rig
from tests.packets.builders import attach_bytes, make_record, photo_bytes

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def called_for(monkeypatch) -> list[int]:
    """Packets that the workers were told of."""
    found: list[int] = []
    monkeypatch.setattr(services, "call_worker", lambda _task, pk: found.append(pk))
    return found


@pytest.fixture
def packet() -> Packet:
    return waiting()


def waiting(**fields) -> Packet:
    fields.setdefault("rig", make_rig(name="Marlow"))
    return Packet.objects.create(kind="history", as_of=TODAY, **fields)


def left_by_a_worker(ago: int, **fields) -> Packet:
    until = timezone.now() - timedelta(seconds=ago)
    return waiting(state=PacketState.RENDERING, claimed_until=until, **fields)


def state_of(packet: Packet) -> str:
    packet.refresh_from_db()
    return packet.state


def short_print(html, out, *, seconds, tell) -> int:
    out.write_bytes(b"%PDF-made")
    return 3


def raising(error: Exception):
    def print_page(html, out, *, seconds, tell) -> int:
        raise error

    return print_page


def test_packet_is_made_whole_by_the_real_program(packet):
    make_record(packet.rig)

    make_packet(packet, today=TODAY)

    assert state_of(packet) == PacketState.READY
    with pypdf.PdfReader(path_of(packet)) as made:
        assert made.metadata is not None
        assert made.metadata.title == "Marlow: Service History through May 4, 2026"
        assert packet.pages == len(made.pages)
    assert packet.size == path_of(packet).stat().st_size
    assert packet.ready_at is not None


def test_photo_that_cannot_be_read_is_told_and_stops_nothing(packet):
    attach_bytes(make_record(packet.rig), b"\xff\xd8 no photo", "broken.jpg")
    gone = attach_bytes(make_record(packet.rig), photo_bytes(), "gone.jpg")
    proof.path_of(gone).unlink()

    make_packet(packet, today=TODAY)

    assert state_of(packet) == PacketState.READY
    text = "".join(
        page.extract_text() for page in pypdf.PdfReader(path_of(packet)).pages
    )
    assert "the photo can't be shown" in text
    assert "the file is missing" in text


def test_standings_are_renewed_for_the_day_of_the_print(packet, clock):
    clock(f"{TODAY} 15:00")
    item = make_item(packet.rig)

    make_packet(packet, today=TODAY, print_page=short_print)

    assert Standing.objects.get(item=item).as_of == TODAY


def test_print_after_midnight_is_as_of_the_new_day(packet):
    make_packet(packet, today=TODAY + timedelta(days=1), print_page=short_print)

    packet.refresh_from_db()
    assert packet.as_of == TODAY + timedelta(days=1)


def test_progress_is_written_to_the_row_as_it_goes(packet, monkeypatch):
    monkeypatch.setattr(rendering, "TELL_EVERY", 0)
    seen = []

    def print_page(html, out, *, seconds, tell) -> int:
        for progress in (Progress("page", 1), Progress("page", 4), Progress("writing")):
            assert tell(progress)
            packet.refresh_from_db()
            seen.append((packet.step, packet.percent))
        return short_print(html, out, seconds=seconds, tell=tell)

    make_packet(packet, today=TODAY, print_page=print_page)

    assert seen == [
        ("Setting page 1", 45),
        ("Setting page 4", 90),
        ("Writing the PDF", 90),
    ]


def test_claim_is_renewed_while_it_prints(packet, monkeypatch):
    monkeypatch.setattr(rendering, "TELL_EVERY", 0)
    held = []

    def print_page(html, out, *, seconds, tell) -> int:
        for _second in range(2):
            tell(Progress())
            packet.refresh_from_db()
            held.append(packet.claimed_until)
        return short_print(html, out, seconds=seconds, tell=tell)

    make_packet(packet, today=TODAY, print_page=print_page)

    assert held[0] < held[1]
    assert held[1] > timezone.now() + timedelta(seconds=50)


def test_packet_that_is_stopped_meanwhile_stays_stopped_and_leaves_no_file(packet):
    def print_page(html, out, *, seconds, tell) -> int:
        Packet.objects.update(state=PacketState.STOPPED, claimed_until=None)
        return short_print(html, out, seconds=seconds, tell=tell)

    make_packet(packet, today=TODAY, print_page=print_page)

    assert state_of(packet) == PacketState.STOPPED
    assert not path_of(packet).exists()


def test_stop_is_told_to_the_program(packet, monkeypatch):
    monkeypatch.setattr(rendering, "TELL_EVERY", 0)
    answers = []

    def print_page(html, out, *, seconds, tell) -> int:
        Packet.objects.update(state=PacketState.STOPPED, claimed_until=None)
        answers.append(tell(Progress()))
        raise PrintStopped

    make_packet(packet, today=TODAY, print_page=print_page)

    assert answers == [False]
    assert state_of(packet) == PacketState.STOPPED


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (PrintFailed("exit code -9"), "records are untouched"),
        (PrintTooLong(), "ten minutes"),
    ],
)
def test_print_that_breaks_off_fails_with_a_word_for_the_user(packet, error, said):
    make_packet(packet, today=TODAY, print_page=raising(error))

    assert state_of(packet) == PacketState.FAILED
    assert said in packet.problem


def test_reason_of_a_failure_is_logged(packet, caplog):
    with caplog.at_level(logging.ERROR, "maintenance.packets.rendering"):
        make_packet(packet, today=TODAY, print_page=raising(PrintFailed("no font")))

    assert "no font" in caplog.text


def test_fault_of_ours_fails_the_packet_and_reaches_the_worker(packet):
    with pytest.raises(ZeroDivisionError):
        make_packet(packet, today=TODAY, print_page=raising(ZeroDivisionError()))

    assert state_of(packet) == PacketState.FAILED


@pytest.mark.parametrize("state", ["ready", "failed", "stopped"])
def test_packet_that_waits_no_more_is_left_alone(state):
    packet = waiting(state=state)

    make_packet(packet, today=TODAY, print_page=raising(AssertionError()))

    assert state_of(packet) == state


def test_of_two_workers_one_gets_the_claim(packet):
    first = take_claim(Packet.objects.get(), today=TODAY)
    second = take_claim(Packet.objects.get(), today=TODAY)

    assert first is not None
    assert second is None


def test_claim_that_ran_out_is_taken_by_another_and_the_first_finds_it_lost(packet):
    lost = take_claim(packet, today=TODAY)
    Packet.objects.update(claimed_until=timezone.now() - timedelta(seconds=1))
    held = take_claim(Packet.objects.get(), today=TODAY)

    assert lost is not None
    assert held is not None
    assert not lost.tell("Setting page 1", 50)
    assert held.tell("Setting page 2", 60)


def test_one_is_made_at_a_time_and_the_next_is_called_for(packet, called_for):
    following = waiting(rig=make_rig())
    inner = []

    def print_page(html, out, *, seconds, tell) -> int:
        make_packet(following, today=TODAY, print_page=raising(AssertionError()))
        inner.append(state_of(following))
        return short_print(html, out, seconds=seconds, tell=tell)

    make_packet(packet, today=TODAY, print_page=print_page)

    assert inner == [PacketState.QUEUED]
    assert called_for == [following.pk]


def test_sweep_calls_for_what_waits(packet, called_for):
    sweep(Packet)
    sweep(Packet)

    assert called_for == [packet.pk, packet.pk]


def test_sweep_takes_what_a_dead_worker_left_once_its_claim_ran_out(called_for):
    held = left_by_a_worker(-30)
    left = left_by_a_worker(1, rig=make_rig())

    sweep(Packet)

    assert called_for == [left.pk]
    assert state_of(held) == PacketState.RENDERING


def test_sweep_gives_up_what_killed_its_workers(called_for):
    packet = left_by_a_worker(1, tries=MOST_TRIES)

    sweep(Packet)

    assert called_for == []
    assert state_of(packet) == PacketState.FAILED
    assert "stopped trying" in packet.problem


def test_command_makes_all_that_wait_and_says_what_came_of_each(packet):
    out = StringIO()

    call_command("render_packets", stdout=out)

    assert state_of(packet) == PacketState.READY
    assert out.getvalue() == (f"Service history, Marlow: Ready, {packet.pages} pages\n")


def test_command_without_work_says_so():
    out = StringIO()

    call_command("render_packets", stdout=out)

    assert out.getvalue() == "Nothing is waiting to print.\n"
