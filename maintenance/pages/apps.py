from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "maintenance.pages"
    default_auto_field = "django.db.models.BigAutoField"
