"""Keeping figures for a rig."""

from collections.abc import Mapping, Sequence
from datetime import date

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Rig

from .models import KeptFigure
from .subjects.base import Calculator, Line


@transaction.atomic
def keep_figure(
    rig: Rig,
    *,
    by: Member,
    today: date,
    calculator: Calculator,
    typed: Mapping[str, object],
    lines: Sequence[Line],
    note: str = "",
) -> KeptFigure:
    """Keep a result in its words; kept again on the same rig, the newer one replaces
    what that day's earlier try had said under the same note."""
    require(by, Role.CREW)
    if not lines:
        raise Refused("There is no figure to keep yet.")
    kept, _new = KeptFigure.objects.update_or_create(
        rig=rig,
        calculator=calculator.key,
        note=note,
        kept_on=today,
        defaults={
            "title": str(calculator.title),
            "typed": dict(typed),
            "lines": [[str(one.what), one.figure] for one in lines],
            "kept_by": by,
        },
    )
    note_activity(by, "kept a figure", f"{rig}: {kept.title}")
    return kept


@transaction.atomic
def drop_figure(figure: KeptFigure, *, by: Member) -> None:
    require(by, Role.CREW)
    note_activity(by, "dropped a figure", f"{figure.rig}: {figure.title}")
    figure.delete()
