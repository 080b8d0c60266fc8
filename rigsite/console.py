"""What the commands say to the person at the terminal. Standard library only."""

import contextlib
import sys

# What `prepare` says with this in front, `start` says too.
UPGRADE = "Upgrade: "


class Stop(Exception):
    """The reason why a command cannot go on, in one line fit for a user."""


def say(text: str) -> None:
    """Print a line; once the terminal is closed, go on without it, or the children
    would be left behind by the error."""
    with contextlib.suppress(OSError, ValueError):
        print(text, flush=True)


def complain(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        print(text, file=sys.stderr, flush=True)
