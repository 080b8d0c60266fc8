"""Going on after a backup was put back. What went out since it was made is not known:
nothing that may have gone out goes out again; what still holds is told by the next
digest."""

from collections.abc import Mapping
from datetime import datetime
from secrets import token_urlsafe

from django.db import transaction

from maintenance.core import notices as core

from .. import queries
from ..mail import sender_domain
from ..models import CalendarFeed, Digest, DigestState
from .digests import ON_THE_WAY, take_back

FROM_BACKUP = "It was being sent when the backup was made that you've since restored."


@transaction.atomic
def begin_again(now: datetime, *, secrets: Mapping[str, str]) -> None:
    """`secrets`: those of the calendars that are subscribed to here, by the row key of
    their member; the others get new ones. Notices were raised before."""
    waiting = Digest.objects.filter(state__in=ON_THE_WAY)
    take_back(list(waiting.values_list("pk", flat=True)), problem=FROM_BACKUP)
    for member, day in queries.members_to_tell(now):
        # Today's mail has gone out, if the program ran today: the next one is tomorrow.
        key = core.digest_key(member.pk, day)
        Digest.objects.create(
            member=member,
            key=key,
            day=day,
            to=member.user.email,
            message_id=core.message_id(key, now, sender_domain()),
            made_at=now,
            state=DigestState.FOLDED,
            problem=FROM_BACKUP,
        )
    for feed in CalendarFeed.objects.select_related("member"):
        key = str(feed.member.row_key)
        feed.secret = secrets.get(key) or token_urlsafe(32)
        feed.save(update_fields=["secret"])


def calendar_secrets() -> dict[str, str]:
    """By the row key of their member: what `begin_again` gives to the same people."""
    feeds = CalendarFeed.objects.values_list("member__row_key", "secret")
    return {str(key): secret for key, secret in feeds}
