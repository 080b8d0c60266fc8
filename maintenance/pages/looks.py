"""Walk-arounds in the printed history of a rig."""

from maintenance.core.words import counted
from maintenance.packets.history.model import DatedRow
from maintenance.ui.templatetags.ui import day
from maintenance.vehicles.models import Rig
from maintenance.walkrounds.models import WalkRound
from maintenance.walkrounds.queries import walkrounds_of


def look_rows(rig: Rig) -> list[DatedRow]:
    """The finished ones, newest first."""
    rounds = walkrounds_of(rig.household).filter(rig=rig).select_related("record")
    return [_row(each) for each in rounds.filter(finished_on__isnull=False)]


def _row(walkround: WalkRound) -> DatedRow:
    by = walkround.finished_by or walkround.started_by
    # Counted by the query that reads the list.
    zones, changes, found = (
        getattr(walkround, name) for name in ("zones", "changes", "found")
    )
    said = [counted(zones, "zone")]
    if changes:
        said.append(f"{changes} changed")
    if found:
        said.append(f"{counted(found, 'fault')} found")
    if walkround.record is not None and walkround.record.voided_at is not None:
        said.append("its record was voided")
    on = walkround.finished_on or walkround.started_on
    return DatedRow(day(on), f"by {by}" if by else "", ", ".join(said))
