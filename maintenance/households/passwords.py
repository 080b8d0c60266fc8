"""What is taken as a password, and who may set one."""

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from .activity import note_activity
from .login_sessions import log_out_everywhere
from .models import Member, OneTimeLink
from .refusals import Refused

HINT = "At least 8 characters; 15 or more is safer. No common passwords."
WORDS = {
    "password_too_short": "Use at least 8 characters, like four words.",
    "password_too_common": (
        "This is a common password, guessed first. Choose another, like four words."
    ),
    "password_too_similar": (
        "This is too much like your name, login name or email address. Choose another."
    ),
}


def check_password(password: str, user: User | None = None) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        # One is enough: what is too short is often common, too.
        first = error.error_list[0]
        words = WORDS.get(first.code or "", " ".join(first.messages))
        raise Refused(words, field="password") from None


@transaction.atomic
def set_password(
    member: Member, password: str, *, by: Member | None, keep: str | None = None
) -> None:
    """It ends every login of theirs but the session `keep`, and links to set another.
    `by` is None for a command on the machine."""
    user = member.user
    check_password(password, user)
    user.set_password(password)
    user.save(update_fields=["password"])
    log_out_everywhere(user, but=keep)
    OneTimeLink.objects.filter(about=member).delete()
    note_activity(by, "changed a password", f"{member.name}'s")
