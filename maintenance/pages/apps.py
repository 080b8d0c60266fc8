from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "maintenance.pages"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.packets.queries import LOOKS

        from .looks import look_rows

        LOOKS.append(look_rows)
