from django.apps import AppConfig


class FindingsConfig(AppConfig):
    name = "maintenance.findings"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.vehicles.quota import KEPT, KeptFiles

        from .models import Photo

        way = "rig__household"
        KEPT.append(KeptFiles(Photo, way, ("stored",), "walkrounds/{}".format))
