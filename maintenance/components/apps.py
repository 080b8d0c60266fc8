from django.apps import AppConfig


class ComponentsConfig(AppConfig):
    name = "maintenance.components"
    default_auto_field = "django.db.models.BigAutoField"
