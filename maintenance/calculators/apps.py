from django.apps import AppConfig


class CalculatorsConfig(AppConfig):
    name = "maintenance.calculators"
    label = "bench"  # its tables and migrations keep the name they began with
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from maintenance.library.checks import FURTHER_CHECKS
        from maintenance.work_sheets.figures import FIGURES_FOR

        from .library import refuse_unknown_calculators
        from .queries import figures_for

        FURTHER_CHECKS.append(refuse_unknown_calculators)
        FIGURES_FOR.append(figures_for)
