from django.apps import AppConfig


class PacketsConfig(AppConfig):
    name = "maintenance.packets"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.vehicles.quota import KEPT, KeptFiles

        from .models import Packet

        way = Packet.HOUSEHOLD
        KEPT.append(KeptFiles(Packet, way, ("key",), "packets/{0.hex}.pdf".format))
