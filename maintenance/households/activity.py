"""The activity log: services note what they changed."""

from textwrap import shorten

from .models import ActivityEntry, Member


def note_activity(by: Member | None, what: str, about: str) -> None:
    """One line of who changed what; `by` is None for what a command did."""
    if by is None:
        return
    about = shorten(about, 200, placeholder=" …")
    ActivityEntry.objects.create(
        household=by.household, member=by, what=what, about=about
    )
