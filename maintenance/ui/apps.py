"""The look: base templates, form helpers, template tags and our own style sheets."""

from django.apps import AppConfig


class UiConfig(AppConfig):
    name = "maintenance.ui"
    label = "ui"
    verbose_name = "Look"

    def ready(self) -> None:
        from .errors import use_our_words

        use_our_words()
