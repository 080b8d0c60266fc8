from django.apps import AppConfig


class RemindersConfig(AppConfig):
    name = "maintenance.reminders"
    default_auto_field = "django.db.models.BigAutoField"
