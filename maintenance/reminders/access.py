"""Which mail a request may see."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Digest, StoppedAddress
from .queries import mail_of


def get_mail(request: HouseholdRequest, pk: int) -> Digest:
    return get_or_404(mail_of(request.member.household), pk=pk)


def get_stopped(request: HouseholdRequest, pk: int) -> StoppedAddress:
    return get_or_404(request.member.household.stopped_addresses.all(), pk=pk)
