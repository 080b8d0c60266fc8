from django.apps import AppConfig


class PacketsConfig(AppConfig):
    name = "maintenance.packets"
    default_auto_field = "django.db.models.BigAutoField"
