"""Raising notices, making mail of them, sending it: all idempotent, all as rows."""

from .addresses import use_address_again
from .beginning_again import begin_again, calendar_secrets
from .calendars import end_calendar, keep_calendar, make_address_anew
from .clock import clock_in_doubt, clock_is_trusted, confirm_clock
from .digests import make_digest, make_digests, make_urgent_mails
from .raising import (
    look_again,
    raise_everywhere,
    raise_for,
    raise_notices,
    tell_at_once,
    tell_now,
    tell_of_findings,
    to_look_at,
)
from .sending import send_digest, send_waiting, sweep
from .tidying import tidy, tidy_once_a_day

__all__ = [
    "begin_again",
    "calendar_secrets",
    "clock_in_doubt",
    "clock_is_trusted",
    "confirm_clock",
    "end_calendar",
    "keep_calendar",
    "look_again",
    "make_address_anew",
    "make_digest",
    "make_digests",
    "make_urgent_mails",
    "raise_everywhere",
    "raise_for",
    "raise_notices",
    "send_digest",
    "send_waiting",
    "sweep",
    "tell_at_once",
    "tell_now",
    "tell_of_findings",
    "tidy",
    "tidy_once_a_day",
    "to_look_at",
    "use_address_again",
]
