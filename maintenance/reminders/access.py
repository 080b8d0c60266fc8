"""Which mail a request may see."""

from django.http import HttpRequest

from maintenance.households.access import get_or_404

from .models import Digest
from .queries import mail_of


def get_mail(request: HttpRequest, pk: int) -> Digest:
    return get_or_404(mail_of(request.member.household), pk=pk)
