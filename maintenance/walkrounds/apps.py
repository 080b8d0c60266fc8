from django.apps import AppConfig


class WalkroundsConfig(AppConfig):
    name = "maintenance.walkrounds"
    default_auto_field = "django.db.models.BigAutoField"
