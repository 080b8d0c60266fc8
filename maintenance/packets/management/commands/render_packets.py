"""Makes every packet that waits, as the workers would."""

from typing import Any

from django.core.management.base import BaseCommand

from maintenance.jobs.services import run
from maintenance.packets.models import Packet, PacketState
from maintenance.packets.rendering import make_packet


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        rows = list(Packet.objects.waiting())
        for packet in rows:
            run(Packet, packet.pk, make_packet)
            self._say(Packet.objects.get(pk=packet.pk))
        if not rows:
            self.stdout.write("Nothing is waiting to print.")

    def _say(self, packet: Packet) -> None:
        words = str(PacketState(packet.state).label)
        if packet.state == PacketState.READY:
            words = f"{words}, {packet.pages} pages"
        elif packet.problem:
            words = f"{words}: {packet.problem}"
        self.stdout.write(f"{packet}: {words}")
