"""How mail is set up on this machine, in words; never with a password."""

from django.conf import settings
from django.utils.translation import gettext as _


def set_up_in_words() -> list[tuple[str, str]]:
    """Pairs of label and value; none when there is no mail server."""
    if not settings.MAIL_SERVER_SET:
        return []
    login = _("as %(user)s") % {"user": settings.EMAIL_HOST_USER}
    return [
        (
            _("Mail server"),
            _("%(host)s, port %(port)s")
            % {"host": settings.EMAIL_HOST, "port": settings.EMAIL_PORT},
        ),
        (_("Encryption"), _encryption()),
        (_("Login"), login if settings.EMAIL_HOST_USER else _("none")),
        (_("Sender"), settings.DEFAULT_FROM_EMAIL),
        (
            _("Links in mail"),
            _("to %(url)s") % {"url": settings.PUBLIC_URL}
            if settings.PUBLIC_URL
            else _("none, there is no public address: mail carries the steps in words"),
        ),
    ]


def _encryption() -> str:
    if settings.EMAIL_USE_SSL:
        return _("TLS from the start")
    if settings.EMAIL_USE_TLS:
        return _("STARTTLS")
    return _("none: mail can be read on its way")
