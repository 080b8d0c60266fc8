"""Watching the machine's clock: after a jump the daily mail waits until somebody has
confirmed the date, or the clock is right again. Safety mail never waits."""

from datetime import datetime

from django.db import transaction

from maintenance.core.clock import in_doubt
from maintenance.households.access import require_founder
from maintenance.households.activity import note_activity
from maintenance.households.models import Member

from .. import machine_clock
from ..models import MachineClock


def clock_is_trusted(now: datetime) -> bool:
    """Look at the clock of this machine, note it, and say whether mail may go by it.

    In doubt, the last look that was good stays: a clock that is set right is trusted
    again by itself.
    """
    seen = machine_clock.look(now)
    row, new = MachineClock.objects.get_or_create(
        machine=machine_clock.machine(),
        defaults={"at": seen.at, "boot": seen.boot, "up": seen.up},
    )
    doubted = not new and in_doubt(row.last_good, seen, row.doubted_at)
    if doubted and not machine_clock.is_set_by_network():
        MachineClock.objects.filter(pk=row.pk).update(doubted_at=now)
        return False
    row.at, row.boot, row.up, row.doubted_at = seen.at, seen.boot, seen.up, None
    row.save(update_fields=["at", "boot", "up", "doubted_at"])
    return clock_in_doubt() is None  # another machine's may be


def clock_in_doubt() -> MachineClock | None:
    return MachineClock.objects.filter(doubted_at__isnull=False).first()


@transaction.atomic
def confirm_clock(now: datetime, *, by: Member | None = None) -> None:
    """The date is right: what the clock shows now is trusted, on every machine. `by` is
    None for whoever runs the command on the machine itself."""
    if by is not None:
        require_founder(by)
        note_activity(by, "confirmed the date", "the clock of the machine")
    seen = machine_clock.look(now)
    MachineClock.objects.exclude(machine=machine_clock.machine()).filter(
        doubted_at__isnull=False
    ).delete()
    MachineClock.objects.update_or_create(
        machine=machine_clock.machine(),
        defaults={
            "at": seen.at,
            "boot": seen.boot,
            "up": seen.up,
            "doubted_at": None,
        },
    )
