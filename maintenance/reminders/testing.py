"""A test mail to oneself, so that nobody has to wait for the next reminder."""

from datetime import datetime
from secrets import token_hex

from django.conf import settings
from django.utils.translation import gettext as _

from maintenance.core.notices import message_id
from maintenance.households.models import Member
from maintenance.households.refusals import Refused

from . import mail, smtp


def send_test_mail(member: Member, *, now: datetime) -> smtp.Outcome:
    """What the server said to it. Nothing is stored: it is no reminder."""
    if not settings.MAIL_SERVER_SET:
        raise Refused(
            _(
                "There is no mail server to test. Mail is kept on this page until one "
                "is named in the settings."
            )
        )
    to = member.user.email
    if not to:
        raise Refused(
            _("Nobody knows your address. Give it under Household, How to write to me.")
        )
    words = _("This is the test mail that you asked for. Reminders will reach you.")
    message = mail.build(
        to=mail.address_of(member, to),
        subject=_("Test mail of %(household)s") % {"household": member.household},
        text=f"{words}\n",
        html=f"<!doctype html><p>{words}</p>",
        message_id=message_id(token_hex(16), mail.sender_domain()),
        at=now,
    )
    return smtp.deliver(message, to=to)
