"""The link that ends mail to a person without logging in (RFC 8058)."""

from django.conf import settings
from django.core import signing
from django.urls import reverse

from maintenance.households.models import Member

SALT = "reminders.stop"


def stop_url(member: Member) -> str:
    """Nothing where no such link can work: RFC 8058 asks for an HTTPS address."""
    if not settings.PUBLIC_URL.startswith("https://"):
        return ""
    token = signing.Signer(salt=SALT).sign(str(member.pk))
    return settings.PUBLIC_URL + reverse("stop_mail", args=[token])


def member_of_link(token: str) -> Member | None:
    """Whose mail a link ends; None if it was changed on its way or they have left.

    It never expires: who digs up an old mail may want to end them too.
    """
    try:
        pk = int(signing.Signer(salt=SALT).unsign(token))
    except signing.BadSignature:
        return None
    return Member.objects.present().filter(pk=pk).first()
