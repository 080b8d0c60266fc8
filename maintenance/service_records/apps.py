from django.apps import AppConfig


class ServiceRecordsConfig(AppConfig):
    name = "maintenance.service_records"
    default_auto_field = "django.db.models.BigAutoField"
