"""Which mail a request may see. Its links act in the name of the person it was written
to, so what it says is for that person alone."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Digest, StoppedAddress
from .queries import mail_known_to, mail_of


def get_mail(request: HouseholdRequest, pk: int) -> Digest:
    """One's own; a keeper's also that of others, of which only the way it went may be
    shown."""
    return get_or_404(mail_known_to(request.member), pk=pk)


def get_own_mail(request: HouseholdRequest, pk: int) -> Digest:
    """To be read: its addressee's alone."""
    return get_or_404(mail_of(request.member), pk=pk)


def get_stopped(request: HouseholdRequest, pk: int) -> StoppedAddress:
    return get_or_404(request.member.household.stopped_addresses.all(), pk=pk)
