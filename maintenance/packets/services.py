"""Asking for a packet, and stopping one."""

from datetime import date

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.jobs.services import enqueue, stop_job
from maintenance.vehicles.models import Rig
from maintenance.vehicles.quota import refuse_full

from .files import path_of
from .models import Packet, PacketKind

MOST_IN_WORK = 6


@transaction.atomic
def ask_for_history(rig: Rig, *, by: Member, today: date) -> Packet:
    """A row that a worker takes; while one for the same rig is in work, that one."""
    require(by, Role.CREW)
    # Held until commit: of two requests at once the later must see the first one's row.
    Household.objects.select_for_update().get(pk=rig.household_id)
    in_work = Packet.objects.in_work().filter(rig=rig, kind=PacketKind.HISTORY).first()
    if in_work is not None:
        return in_work
    _refuse_many(rig.household)
    packet = Packet.objects.create(
        rig=rig, kind=PacketKind.HISTORY, as_of=today, asked_by=by
    )
    note_activity(by, "asked for history", rig.name)
    enqueue(packet)
    return packet


@transaction.atomic
def ask_for_sheet(
    rig: Rig, *, by: Member, today: date, kind: PacketKind, title: str, page: str
) -> Packet:
    """A sheet to be printed as it stands: `page` is whole HTML that loads nothing."""
    require(by, Role.CREW)
    # Held until commit: of several requests at once each must see the others' rows.
    Household.objects.select_for_update().get(pk=rig.household_id)
    _refuse_many(rig.household)
    packet = Packet.objects.create(
        rig=rig, kind=kind, as_of=today, asked_by=by, title=title[:120], page=page
    )
    note_activity(by, "asked for sheet", str(packet))
    enqueue(packet)
    return packet


def _refuse_many(household: Household) -> None:
    """One is printed at a time on a machine, so nobody may fill the line for all."""
    if Packet.objects.for_household(household).in_work().count() >= MOST_IN_WORK:
        raise Refused(
            f"{MOST_IN_WORK} prints of your household are waiting or being made. Try "
            "again when one is done, or stop one."
        )
    refuse_full(household, 0)


def stop_packet(packet: Packet, *, by: Member) -> None:
    """Whoever makes it sees within a second that nobody wants it any more."""
    stop_job(packet, by=by)
    note_activity(by, "stopped packet", str(packet))


@transaction.atomic
def remove_packet(packet: Packet, *, by: Member) -> None:
    """Off the list, with its PDF. The records stay; it can be made again."""
    require(by, Role.CREW)
    gone, _rows = (
        Packet.objects.filter(pk=packet.pk)
        .exclude(state__in=Packet.in_work_states())
        .delete()
    )
    if not gone:
        raise Refused("This one is still being made. Stop it first.")
    note_activity(by, "removed packet", str(packet))
    transaction.on_commit(lambda: path_of(packet).unlink(missing_ok=True))
