from django.apps import AppConfig


class PlansConfig(AppConfig):
    name = "maintenance.plans"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.households.changes import inputs_changed

        from .receivers import renew_on_change

        inputs_changed.connect(renew_on_change, dispatch_uid="plans.renew_on_change")
