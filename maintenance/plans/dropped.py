"""Refusing what is said of a job that somebody took off the plan meanwhile."""

from collections.abc import Iterable

from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import PlanItem


def refuse_dropped(items: Iterable[PlanItem]) -> None:
    """Looked up anew: the job may have been dropped since its page was opened."""
    ids = [item.pk for item in items]
    rows = PlanItem.objects.filter(pk__in=ids, dropped_on__isnull=False)
    item = rows.order_by("pk").first()
    if item is not None and item.dropped_on is not None:
        why = f" ({item.why_dropped})" if item.why_dropped else ""
        on = f" on {day_words(item.dropped_on)}" if item.dropped_on else ""
        raise Refused(
            f"“{item}” was removed from the plan{on}{why}. Nothing was saved. "
            "To record it, add the job again under Plan."
        )
