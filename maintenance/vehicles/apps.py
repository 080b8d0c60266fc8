from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    name = "maintenance.vehicles"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from .models import Manual, RigPhoto, Spot
        from .quota import KEPT, KeptFiles

        home = "rig__household"
        KEPT.append(KeptFiles(Manual, home, ("stored",), "manuals/{}".format))
        KEPT.append(KeptFiles(RigPhoto, home, ("stored",), "rigs/{}".format))
        KEPT.append(KeptFiles(Spot, home, ("photo",), "spots/{}".format))
