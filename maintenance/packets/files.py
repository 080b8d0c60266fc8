"""Where the PDFs lie: outside what the web server shows; a view checks who may."""

from pathlib import Path

from django.conf import settings
from django.utils.text import slugify

from .models import Packet


def packet_folder() -> Path:
    return Path(settings.MEDIA_ROOT) / "packets"


def path_of(packet: Packet) -> Path:
    """Its name is random and its own, so a second try leaves nothing behind."""
    return packet_folder() / f"{packet.key.hex}.pdf"


def download_name(packet: Packet) -> str:
    """`service-history-marlow-2026-05-04.pdf`, `trip-sheet-marlow-2026-05-04.pdf`"""
    rig = slugify(packet.rig.name, allow_unicode=True) or "rig"
    kind = "service-history" if packet.is_history else f"{packet.kind}-sheet"
    return f"{kind}-{rig}-{packet.as_of.isoformat()}.pdf"
