"""Papers with a date printed on them: registration, insurance, licenses …

The date on the paper wins over every rule: once it is told, the item is a life that
ends on it, and renewing the paper gives it a new date.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from maintenance.core.dates import add_months
from maintenance.core.triggers import parse_triggers
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import PlanItem, RulesFrom, Standing
from maintenance.plans.receivers import renew_rigs
from maintenance.plans.stored import day_of
from maintenance.ui.words import day_words

PAPERS = "papers"
LONGEST = 20  # years: no paper is good for longer


@dataclass(frozen=True, slots=True)
class Paper:
    """`ends` is the last good day; `told`: read on the paper, not reckoned.

    `asks`: it was renewed, and the date on the new paper is still missing.
    """

    ends: date | None
    told: bool
    over: bool
    asks: bool


def is_dated_paper(item: PlanItem) -> bool:
    """A look that comes round, such as that for recalls, has no date on paper."""
    if item.system != PAPERS or item.is_warranty:
        return False
    return _months(item) is not None and not _comes_round(item)


def _comes_round(item: PlanItem) -> bool:
    return not item.anchored and not any("life" in rule for rule in item.triggers)


def _months(item: PlanItem) -> int | None:
    for rule in parse_triggers(item.triggers, item.key):
        interval = rule.time_interval()
        if interval is not None and interval.months:
            return interval.months
    return None


def paper_of(item: PlanItem, standing: Standing | None, today: date) -> Paper | None:
    if not is_dated_paper(item):
        return None
    window = standing.window if standing else None
    ends, opens = (
        (day_of(window.closes), day_of(window.opens)) if window else (None, None)
    )
    told = any("from" in rule.get("life", {}) for rule in item.triggers)
    renewed = item.completions.filter(withdrawn=False).order_by("-on").first()
    return Paper(
        ends=ends,
        told=told,
        over=ends is not None and ends < today,
        asks=bool(told and renewed and opens and renewed.on >= opens),
    )


@transaction.atomic
def set_expiry(item: PlanItem, *, by: Member, today: date, expires: date) -> PlanItem:
    """The last good day, as printed; from now on the item ends on it."""
    require(by, Role.CREW)
    refuse_dropped([item])
    tell_expiry(item, today=today, expires=expires)
    note_activity(by, "entered a date", f"{item.rig}: {item}, {day_words(expires)}")
    renew_rigs(item.rig.household, [item.rig_id], as_of=today)
    return item


def tell_expiry(item: PlanItem, *, today: date, expires: date) -> None:
    columns = columns_until(item, today=today, expires=expires)
    for name, value in columns.items():
        setattr(item, name, value)
    item.save(update_fields=list(columns))


def columns_until(item: PlanItem, *, today: date, expires: date) -> dict[str, Any]:
    """By which rules the item counts, once the last good day of its paper is known."""
    length = _months(item) or 12
    months, start = life_until(expires, length, today)
    return {
        "triggers": [{"life": {"months": months, "from": start.isoformat()}}],
        "rules_from": RulesFrom.OWN,
    }


def life_until(
    expires: date, months: int, today: date, field: str = "expires"
) -> tuple[int, date]:
    """A span of whole `months` that ends on the day and has begun already.

    Several are tried, since a year before the 29th of February has no such day.
    """
    if not date(1990, 1, 1) <= expires <= add_months(today, 12 * LONGEST):
        raise Refused(
            f"{day_words(expires)} can't be right. Check the date on the paper.",
            field=field,
        )
    for span in range(months, 12 * LONGEST + 1, months):
        start = add_months(expires, -span)
        if start <= today and add_months(start, span) == expires:
            return span, start
    return months, add_months(expires, -months)
