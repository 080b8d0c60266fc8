from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    name = "maintenance.vehicles"
    default_auto_field = "django.db.models.BigAutoField"
