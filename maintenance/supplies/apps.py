from django.apps import AppConfig


class SuppliesConfig(AppConfig):
    name = "maintenance.supplies"
    verbose_name = "Tools and supplies"
