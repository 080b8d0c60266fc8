from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    name = "maintenance.vehicles"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from .manuals import MANUALS, SPOTS
        from .models import Manual, Spot
        from .quota import KEPT, KeptFiles

        home = "rig__household"
        KEPT.append(KeptFiles(Manual, home, ("stored",), f"{MANUALS}/{{}}".format))
        KEPT.append(KeptFiles(Spot, home, ("photo",), f"{SPOTS}/{{}}".format))
