from django.apps import AppConfig


class HouseholdsConfig(AppConfig):
    name = "maintenance.households"
    default_auto_field = "django.db.models.BigAutoField"
