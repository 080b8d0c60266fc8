from django.apps import AppConfig


class ServiceRecordsConfig(AppConfig):
    name = "maintenance.service_records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.vehicles.quota import KEPT, KeptFiles

        from .models import Attachment, UnfiledPhoto

        for model, way in ((Attachment, "rig__household"), (UnfiledPhoto, "household")):
            KEPT.append(KeptFiles(model, way, ("stored",), "proof/{}".format))
