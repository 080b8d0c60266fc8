from django.apps import AppConfig


class WorkSheetsConfig(AppConfig):
    name = "maintenance.work_sheets"
    default_auto_field = "django.db.models.BigAutoField"
