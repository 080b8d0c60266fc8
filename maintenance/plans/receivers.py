"""Standings are renewed with every change: the only receiver of `inputs_changed`, and
what services from here up call themselves."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q

from maintenance.households.models import Household
from maintenance.households.workers import ask_to_tell
from maintenance.vehicles.models import Rig

from .standings import renew_household, renew_standings

# The households whose renewal waits for the end of `renewing_once`; None outside it.
_waiting: ContextVar[dict[int, Household] | None] = ContextVar("waiting", default=None)


def renew_on_change(
    *, household: Household, rig_ids: list[int] | None, as_of: date, **_kwargs: Any
) -> None:
    renew_rigs(household, rig_ids, as_of=as_of)


def renew_rigs(
    household: Household, rig_ids: Collection[int] | None, *, as_of: date
) -> None:
    """Reckon the rigs named, or all of the household, in the caller's transaction, and
    have told what safety asks for then.

    The first change of a new day reckons all: a household stands at one day.
    """
    waiting = _waiting.get()
    if waiting is not None:
        waiting[household.pk] = household
        return
    if rig_ids is None or household.reckoned_on != as_of:
        changed = renew_household(household, as_of=as_of)
    else:
        rigs = Rig.objects.for_household(household).kept().filter(_touched(rig_ids))
        changed = renew_standings(
            rigs.select_related("household").distinct(), as_of=as_of
        )
    if changed:
        ask_to_tell(household.pk)


def _touched(rig_ids: Collection[int]) -> Q:
    """The rigs, and those that they tow: these count by their odometers."""
    return (
        Q(pk__in=rig_ids)
        | Q(trips__tow_vehicle__in=rig_ids)
        | Q(towed_on__rig__in=rig_ids)
    )


def renewal_waits() -> bool:
    """Whether stored standings are behind until the end of `renewing_once`."""
    return _waiting.get() is not None


@contextmanager
def renewing_once(*, as_of: date) -> Iterator[None]:
    """One transaction of many changes, at whose end what they touch is reckoned once.

    For loads of hundreds of changes, which would reckon a rig as often. Inside it the
    stored standings are behind; if it fails, nothing of it remains.
    """
    waiting: dict[int, Household] = {}
    with transaction.atomic():
        token = _waiting.set(waiting)
        try:
            yield
        finally:
            _waiting.reset(token)
        for household in waiting.values():
            renew_household(household, as_of=as_of)
