"""What a request may bring, for the web server and for what stands behind it."""

# Bytes of a request's body. Who has no session sends forms, never files.
MOST_FOR_STRANGERS = 200_000
MOST_FOR_MEMBERS = 125_000_000  # a manual has up to 60 MB, a form several photos

# The name of the session's cookie, as in the settings: a test holds them together.
SESSION_COOKIE = "rigsite_session="

TOO_LARGE = (
    "This is too large to be sent here, or you are not logged in any more. Nothing was "
    "saved. A file may have up to 60 MB; send several one after the other."
)
