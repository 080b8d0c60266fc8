"""What services raise when they cannot do what was asked."""

from django.http import Http404


class Refused(Exception):
    """Says in a user's words what is wrong and what to do; `field` says where."""

    def __init__(self, text: str, *, field: str | None = None) -> None:
        super().__init__(text)
        self.text = str(text)
        self.field = field


class Missing(Http404):
    """It is not there (any more); the text is fit for a user."""
