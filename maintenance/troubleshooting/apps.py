from django.apps import AppConfig


class TroubleshootingConfig(AppConfig):
    name = "maintenance.troubleshooting"
    default_auto_field = "django.db.models.BigAutoField"
