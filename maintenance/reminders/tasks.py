"""Jobs: thin, over the services, each also a command of the same name."""

from celery import shared_task
from django.utils import timezone

from . import services
from .models import Digest


@shared_task
def raise_notices() -> None:
    services.raise_everywhere(timezone.now())


@shared_task
def send_digests() -> None:
    services.make_digests(timezone.now())


@shared_task
def send_digest(digest_id: int) -> None:
    digest = Digest.objects.filter(pk=digest_id).first()
    if digest is not None:
        services.send_digest(digest)


@shared_task
def sweep() -> None:
    services.sweep(timezone.now())
