"""Registers what belongs to no single app: start-up checks and the Celery app."""

from django.apps import AppConfig


class RigsiteConfig(AppConfig):
    name = "rigsite"

    def ready(self) -> None:
        # Not in the package itself: `start` imports that before Celery is installed.
        from rigsite import celery, checks  # noqa: F401
