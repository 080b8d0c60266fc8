"""The maker's figure of an item: entered, changed, taken back."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import MakerFigure, MakerValue, PlanItem, RulesFrom
from maintenance.plans.queries import procedure_of

from .items import change_item, follow_library


@dataclass(frozen=True, slots=True)
class MakersValue:
    """One figure with its unit; with `up_to` a range."""

    name: str
    value: Decimal
    unit: str
    up_to: Decimal | None = None


@transaction.atomic
def set_maker_figure(
    item: PlanItem,
    *,
    by: Member,
    today: date,
    document: str,
    page: str = "",
    note: str = "",
    values: Sequence[MakersValue] = (),
    rules: list[Any] | None = None,
) -> MakerFigure:
    """What the maker's book says. With `rules` the item counts by them from now on;
    without, the library's count."""
    require(by, Role.KEEPER)
    refuse_dropped([item])
    _check_values(values)
    made, _new = MakerFigure.objects.update_or_create(
        item=item,
        defaults={
            "document": document,
            "page": page,
            "note": note,
            "entered_on": today,
            "entered_by": by,
        },
    )
    made.values.all().delete()
    rows = [MakerValue(maker=made, **asdict(value)) for value in values]
    MakerValue.objects.bulk_create(rows)
    note_activity(by, "entered manufacturer's figure", f"{item.rig}: {item}")
    if rules is not None:
        maker = RulesFrom.MAKER
        change_item(item, by=by, today=today, triggers=rules, rules_from=maker)
    else:
        _leave_makers_rules(item, by, today)
    return made


def _check_values(values: Sequence[MakersValue]) -> None:
    names = Counter(value.name.casefold() for value in values)
    twice = [name for name, count in names.items() if count > 1]
    if twice:
        raise Refused(f"“{twice[0]}” is there twice. Remove one.")
    for value in values:
        if value.up_to is not None and value.up_to <= value.value:
            raise Refused(
                f"{value.name}: the second figure must be larger, like 90-120."
            )


def _leave_makers_rules(item: PlanItem, by: Member, today: date) -> None:
    """Back to the library's rules; where it has none any more, they are the owner's."""
    if item.rules_from != RulesFrom.MAKER:
        return
    if procedure_of(item) is None:
        change_item(item, by=by, today=today, rules_from=RulesFrom.OWN)
    else:
        follow_library(item, by=by, today=today)


@transaction.atomic
def remove_maker_figure(item: PlanItem, *, by: Member, today: date) -> None:
    require(by, Role.KEEPER)
    MakerFigure.objects.filter(item=item).delete()
    note_activity(by, "removed manufacturer's figure", f"{item.rig}: {item}")
    _leave_makers_rules(item, by, today)
