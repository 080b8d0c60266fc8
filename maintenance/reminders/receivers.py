"""A finding that makes its rig unfit to travel is told wherever it was entered."""

from functools import partial
from typing import Any

from django.db import transaction

from maintenance.households.models import Household
from maintenance.walkrounds.models import Finding

from .services import tell_of_findings


def tell_when_unfit(instance: Finding, *, raw: bool = False, **_kwargs: Any) -> None:
    """Once it is in the database: several of one change come in one mail. What changes
    findings without saving each (a record voided) is found by the job of notices."""
    warns = instance.unfit and instance.is_open and not instance.withdrawn
    if warns and not raw:
        tell = partial(_tell, instance.rig.household_id)
        transaction.on_commit(tell, robust=True)


def _tell(household_id: int) -> None:
    household = Household.objects.filter(pk=household_id).first()
    if household is not None:
        tell_of_findings(household, today=household.today())
