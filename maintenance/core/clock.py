"""Whether the clock of a machine has jumped: what it shows, against the time that the
machine itself counted since it started."""

from dataclasses import dataclass
from datetime import datetime, timedelta

# Less does no harm: a digest comes a day early. Time zones and summer time move nothing
# here, since moments are in UTC.
SLACK = timedelta(days=1)
# While a machine is off nobody counts. Longer than a winter's storage is asked about.
LONGEST_OFF = timedelta(days=200)


@dataclass(frozen=True, slots=True)
class Look:
    """What a clock showed. `boot`: a name of the machine's start, empty where it cannot
    be told; `up`: the seconds since then, with those asleep."""

    at: datetime
    boot: str
    up: float


def jump(before: Look, now: Look) -> timedelta:
    """By how much the clock jumped between two looks, ahead or (negative) back; zero
    for no jump.

    Within one start of the machine, time asleep is counted, so that two weeks asleep
    are no jump and more than a day (`SLACK`) of difference is one. Across a start the
    time off is unknown: back is a jump, and ahead only beyond `LONGEST_OFF`.
    """
    passed = now.at - before.at
    if now.boot and now.boot == before.boot:
        ahead = passed - timedelta(seconds=now.up - before.up)
        return ahead if abs(ahead) > SLACK else timedelta()
    return passed if passed < -SLACK or passed > LONGEST_OFF else timedelta()


def in_doubt(good: Look, now: Look, doubted_at: datetime | None = None) -> bool:
    """Whether the clock cannot be gone by, `good` being the last look that could be.

    `doubted_at`: what it showed when it was last in doubt since. Then a start of the
    machine alone settles nothing, since a clock ahead looks like a machine that was
    off; it has to be seen going back, or to have caught up with the last good look.
    """
    if jump(good, now):
        return True
    if doubted_at is None or (now.boot and now.boot == good.boot):
        return False
    was_back = doubted_at < good.at
    return now.at < good.at if was_back else now.at > doubted_at - SLACK
