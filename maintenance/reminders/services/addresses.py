"""Addresses that a mail server refused for good, and their being mended."""

from datetime import datetime

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role

from ..models import Digest, StoppedAddress


def stop_address(digest: Digest, words: str, *, now: datetime) -> None:
    """Nothing more goes to the address of this mail; the household reads so."""
    StoppedAddress.objects.get_or_create(
        household=digest.member.household,
        address=digest.to,
        defaults={"words": words, "at": now},
    )


@transaction.atomic
def use_address_again(stopped: StoppedAddress, *, by: Member) -> None:
    """It is mended: what the refused mail carried and still holds waits for the next
    one. Their own address everybody may mend, the others' a keeper."""
    if by.user.email != stopped.address:
        require(by, Role.KEEPER)
    note_activity(by, "used address again", stopped.address)
    stopped.delete()
