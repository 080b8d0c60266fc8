"""A form that is sent twice does its work once.

The page of a form carries a token (`{% form_token %}`). It is used up in the very
transaction of the change: of several posts at once the first one works, and the others
wait for it and are led to where it led.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils.crypto import salted_hmac

from maintenance.ui.forms import OUT_OF_DATE

from .access import HouseholdRequest
from .models import SentForm
from .refusals import Refused

FIELD = "form_token"
KEPT = timedelta(days=7)
NOT_SAID = {FIELD, "csrfmiddlewaretoken", "form_seen"}  # another one on each page


class SentBefore(Exception):
    """The form did its work before. `same`: it said the same; `led_to`: its answer."""

    def __init__(self, row: SentForm, *, same: bool) -> None:
        super().__init__()
        self.led_to, self.same = row.led_to, same


@dataclass
class Sent:
    """Whoever does the work says where it leads."""

    led_to: str = ""


@contextmanager
def once(request: HouseholdRequest) -> Iterator[Sent]:
    """One transaction for the work of a form. Raises SentBefore, and Refused for what
    is no token; a post without one comes from no page of ours and is not counted. What
    is raised inside leaves the token good."""
    sent = Sent()
    with transaction.atomic():
        row = _used_up(request)
        yield sent
        if row is not None:
            row.led_to = sent.led_to
            row.save(update_fields=["led_to"])


def _used_up(request: HouseholdRequest) -> SentForm | None:
    given = request.POST.get(FIELD)
    if given is None:
        return None
    try:
        token = UUID(given)
    except ValueError:
        raise Refused(OUT_OF_DATE) from None
    content = _content(request)
    row, new = SentForm.objects.get_or_create(
        token=token, defaults={"member": request.member, "content": content}
    )
    if row.member_id != request.member.pk:
        raise Refused(OUT_OF_DATE)
    if not new:
        raise SentBefore(row, same=row.content == content)
    return row


def _content(request: HouseholdRequest) -> str:
    """A digest of what the form says, under our secret: nobody can guess from it."""
    said = {name: v for name, v in request.POST.lists() if name not in NOT_SAID}
    files = [
        (name, file.name, file.size)
        for name, many in request.FILES.lists()
        for file in many
    ]
    text = repr((request.get_full_path(), sorted(said.items()), sorted(files)))
    # What was typed may hold halves of characters, which no encoding takes as they are.
    typed = text.encode("utf-8", "backslashreplace")
    return salted_hmac(__name__, typed, algorithm="sha256").hexdigest()


def forget_sent(now: datetime) -> int:
    """Nobody sends a form again after a week."""
    return SentForm.objects.filter(at__lt=now - KEPT).delete()[0]
