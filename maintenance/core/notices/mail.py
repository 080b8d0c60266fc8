"""When a digest goes out, and under which name."""

import hashlib
import re
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

_DOMAIN = re.compile(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*")


def digest_day(
    now: datetime, tz: str, hour: int, quiet_days: frozenset[int] = frozenset()
) -> date | None:
    """The household's day whose digest is due at the moment `now`, or None.

    Due from `hour` (0 to 23, local) to midnight; a missed day's is not made up for, the
    next one says all. On days when the clock skips the hour it is due right after the
    gap; when the hour comes twice it is the same day, so the same digest. Nothing on
    `quiet_days` (0 is Monday). `ValueError`: no zone in `now`, unknown `tz` or hour.
    """
    if now.tzinfo is None:
        raise ValueError("The moment needs a time zone.")
    if hour not in range(24):
        raise ValueError(f"The hour of the mail is {hour}: give 0 to 23.")
    try:
        local = now.astimezone(ZoneInfo(tz))
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f"“{tz}” is not a known time zone.") from error
    due = local.hour >= hour and local.weekday() not in quiet_days
    return local.date() if due else None


def digest_key(person: int, day: date) -> str:
    return f"digest:{person}:{day.isoformat()}"


def urgent_key(person: int, day: date) -> str:
    return f"urgent:{person}:{day.isoformat()}"


def clock_key(person: int, last_good: datetime) -> str:
    """Of the one mail about a jump of the clock, which was right at `last_good`."""
    return f"clock:{person}:{last_good.isoformat()}"


def message_id(key: str, made_at: datetime, domain: str) -> str:
    """The Message-ID of the mail with this key (RFC 5322, 3.6.4), angle brackets on.

    With the moment at which the mail was made, to the microsecond: after a backup was
    put back, another mail may have the key of one that went out before. Hashed, so that
    it tells nobody who or what. `domain` in ASCII (`xn--` for others).
    """
    name = domain.strip().rstrip(".").lower()
    if len(name) > 253 or not _DOMAIN.fullmatch(name):
        raise ValueError(f"“{domain}” is not a domain: give one like example.org.")
    text = f"{key} {made_at.astimezone(UTC).isoformat(timespec='microseconds')}"
    return f"<{hashlib.sha256(text.encode()).hexdigest()[:40]}@{name}>"
