from django.apps import AppConfig


class BenchConfig(AppConfig):
    name = "maintenance.bench"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.plans.procedures.checks import FURTHER_CHECKS

        from .library import refuse_unknown_calculators

        FURTHER_CHECKS.append(refuse_unknown_calculators)
