"""Jobs: make a packet, and look for those that wait."""

from celery import shared_task

from maintenance.jobs.services import sweep

from . import rendering
from .models import Packet


@shared_task
def render_packet(packet_id: int) -> None:
    rows = Packet.objects.select_related("rig__household", "asked_by")
    packet = rows.filter(pk=packet_id).first()
    if packet is not None:
        rendering.make_packet(packet, today=packet.rig.household.today())


@shared_task
def sweep_packets() -> None:
    sweep(Packet)
