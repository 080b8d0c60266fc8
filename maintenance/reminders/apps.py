from django.apps import AppConfig


class RemindersConfig(AppConfig):
    name = "maintenance.reminders"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from django.db.models.signals import post_save

        from maintenance.walkrounds.models import Finding

        from .receivers import tell_when_unfit

        post_save.connect(
            tell_when_unfit, sender=Finding, dispatch_uid="reminders.tell_when_unfit"
        )
