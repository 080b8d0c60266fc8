"""Makes every packet that waits, as the workers would."""

from typing import Any

from django.core.management.base import BaseCommand

from maintenance.packets.models import Packet, PacketState
from maintenance.packets.rendering import make_packet


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        rows = Packet.objects.waiting().select_related("rig__household", "asked_by")
        for packet in rows:
            make_packet(packet, today=packet.rig.household.today())
            self._say(Packet.objects.get(pk=packet.pk))
        if not rows:
            self.stdout.write("No packet waits.")

    def _say(self, packet: Packet) -> None:
        words = str(PacketState(packet.state).label)
        if packet.state == PacketState.READY:
            words = f"{words}, {packet.pages} pages"
        elif packet.problem:
            words = f"{words}: {packet.problem}"
        self.stdout.write(f"{packet}: {words}")
