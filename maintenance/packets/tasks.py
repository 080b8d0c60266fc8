"""Jobs: make a packet, and look for those that wait."""

from celery import shared_task

from maintenance.jobs.services import run, sweep

from .models import Packet
from .rendering import make_packet


@shared_task
def render_packet(packet_id: int) -> None:
    run(Packet, packet_id, make_packet)


@shared_task
def sweep_packets() -> None:
    sweep(Packet)
