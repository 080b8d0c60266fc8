"""The only receiver of `inputs_changed`: standings are renewed with every change."""

from datetime import date
from typing import Any

from maintenance.households.models import Household
from maintenance.vehicles.models import Rig

from .standings import renew_household, renew_standings


def renew_on_change(
    *,
    household: Household,
    rig_ids: list[int] | None,
    as_of: date,
    **_kwargs: Any,
) -> None:
    """Reckon the rigs named, or all of the household, in the caller's transaction."""
    if rig_ids is None:
        renew_household(household, as_of=as_of)
        return
    rigs = Rig.objects.for_household(household).kept().filter(pk__in=rig_ids)
    renew_standings(rigs.select_related("household"), as_of=as_of)
