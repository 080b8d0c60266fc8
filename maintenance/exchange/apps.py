from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "maintenance.exchange"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.vehicles.quota import KEPT, KeptFiles

        from .models import ExportJob, ImportJob

        for model, path in (
            (ImportJob, "brought/{0.hex}.json"),
            (ExportJob, "exports/{0.hex}.zip"),
        ):
            KEPT.append(KeptFiles(model, model.HOUSEHOLD, ("key",), path.format))
