"""Asking for a packet, and stopping one."""

import logging
from datetime import date

from celery import current_app
from django.db import transaction
from django.utils.translation import gettext as _
from kombu.exceptions import OperationalError

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Rig

from .files import path_of
from .models import IN_WORK, Packet, PacketKind, PacketState

log = logging.getLogger(__name__)

RENDER = "maintenance.packets.tasks.render_packet"  # by name: tasks call services


@transaction.atomic
def ask_for_history(rig: Rig, *, by: Member, today: date) -> Packet:
    """A row that a worker takes; while one for the same rig is in work, that one."""
    require(by, Role.CREW)
    # Held until commit: of two requests at once the later must see the first one's row.
    Rig.objects.select_for_update().get(pk=rig.pk)
    history = Packet.objects.filter(rig=rig, kind=PacketKind.HISTORY)
    in_work = history.filter(state__in=IN_WORK).first()
    if in_work is not None:
        return in_work
    packet = Packet.objects.create(
        rig=rig, kind=PacketKind.HISTORY, as_of=today, asked_by=by
    )
    note_activity(by, "asked for history", rig.name)
    transaction.on_commit(lambda: enqueue(packet))
    return packet


@transaction.atomic
def ask_for_sheet(
    rig: Rig, *, by: Member, today: date, kind: PacketKind, title: str, page: str
) -> Packet:
    """A sheet to be printed as it stands: `page` is whole HTML that loads nothing."""
    require(by, Role.CREW)
    packet = Packet.objects.create(
        rig=rig, kind=kind, as_of=today, asked_by=by, title=title[:120], page=page
    )
    note_activity(by, "asked for sheet", str(packet))
    transaction.on_commit(lambda: enqueue(packet))
    return packet


def enqueue(packet: Packet) -> None:
    """Tell the workers. Without a broker the row stays, and the sweep takes it."""
    try:
        current_app.send_task(RENDER, args=[packet.pk])
    except OperationalError:
        log.warning("packet %s: the broker does not answer", packet.pk)


def stop_packet(packet: Packet, *, by: Member) -> None:
    """Nobody wants it any more; whoever makes it sees that within a second."""
    require(by, Role.CREW)
    stopped = Packet.objects.filter(pk=packet.pk, state__in=IN_WORK).update(
        state=PacketState.STOPPED, claimed_until=None
    )
    if not stopped:
        raise Refused(
            _("This one is not being made any more: there is nothing to stop.")
        )
    note_activity(by, "stopped packet", str(packet))


@transaction.atomic
def remove_packet(packet: Packet, *, by: Member) -> None:
    """Off the list, with its PDF. The records stay; it can be made again."""
    require(by, Role.CREW)
    gone, _rows = (
        Packet.objects.filter(pk=packet.pk).exclude(state__in=IN_WORK).delete()
    )
    if not gone:
        raise Refused(_("This one is being made. Stop it first."))
    note_activity(by, "removed packet", str(packet))
    transaction.on_commit(lambda: path_of(packet).unlink(missing_ok=True))
