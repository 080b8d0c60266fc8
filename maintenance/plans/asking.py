"""What an owner is asked of the time before: once an item, only where it counts."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from django.db.models import Exists, OuterRef, QuerySet

from maintenance.core.dates import add_months
from maintenance.core.facts import Span
from maintenance.core.triggers import Kind, parse_triggers
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig

from .models import BaselineKind, Completion, PlanItem
from .rules import rule_in_words

# What comes round this often is sooner done than remembered.
OFTEN = Span(days=92, months=3)

# done: when last; paper: when it runs out; life: when the part was made.
AskedKind = Literal["done", "paper", "life"]


@dataclass(frozen=True, slots=True)
class Asked:
    """One question about an item. `months` is the interval of a paper or the life of a
    part; `meter` the one whose reading of that day counts; `often`: it comes round
    within three months, so that to ask of the past is hardly worth it."""

    item: PlanItem
    kind: AskedKind
    rules: str
    until_then: str
    months: int = 0
    meter: str = ""
    unit: str = ""
    often: bool = False

    @property
    def id(self) -> str:
        """For the names of its fields."""
        return f"{self.kind}{self.item.pk}"

    @property
    def question(self) -> str:
        if self.kind == "done":
            return "last done"
        return "it expires on" if self.kind == "paper" else "date on it"


def asked_of_rig(rig: Rig) -> list[Asked]:
    """What is not answered yet, safety first."""
    items = (
        PlanItem.objects.active().filter(rig=rig).order_by("-safety", "system", "pk")
    )
    meters = {meter.kind: meter.unit for meter in rig.meters.all()}
    return asked_of(with_record(items).select_related("rig"), meters)


def with_record(items: QuerySet[PlanItem]) -> QuerySet[PlanItem]:
    """Each with whether it was ever done: `has_record`."""
    done = Completion.objects.filter(item=OuterRef("pk"), withdrawn=False)
    return items.annotate(has_record=Exists(done))


def asked_of(items: Iterable[PlanItem], meters: dict[str, str]) -> list[Asked]:
    """The same, of items that are loaded already (`with_record`)."""
    return [
        one
        for item in items
        if item.baseline_asked_on is None
        for one in _questions(item, meters)
        if not _answered(item, one)
    ]


def asked_of_item(item: PlanItem) -> list[Asked]:
    """What can be told of one item, whether it was told before or not."""
    meters = {meter.kind: meter.unit for meter in item.rig.meters.all()}
    return _questions(item, meters) or [_done(item, (), meters)]


def said_of(item: PlanItem) -> dict[str, str]:
    """What was told of it, as the form of its past takes it."""
    said: dict[str, str] = {}
    for one in asked_of_item(item):
        if one.kind == "life":
            ages = (rule["life"] for rule in item.triggers if "life" in rule)
            said[f"when_{one.id}"] = next((x["from"] for x in ages if "from" in x), "")
        elif item.baseline_on is not None:
            on = add_months(item.baseline_on, one.months if one.kind == "paper" else 0)
            said[f"when_{one.id}"] = on.isoformat()
            said[f"value_{one.id}"] = item.baseline_values.get(one.meter, "")
        elif item.baseline_asked_on is not None:
            never = item.baseline == BaselineKind.IN_SERVICE
            said[f"other_{one.id}"] = "never" if never else "unknown"
    return said


def _answered(item: PlanItem, one: Asked) -> bool:
    if one.kind == "life":
        return any(rule["life"].get("from") for rule in item.triggers if "life" in rule)
    return item.has_record or item.baseline == BaselineKind.STATED  # type: ignore[attr-defined]


def _questions(item: PlanItem, meters: dict[str, str]) -> list[Asked]:
    rules = parse_triggers(item.triggers, item.key)
    found = [
        Asked(item, "life", rule_in_words(rule), "", _months(rule))
        for rule in rules
        if rule.hangs_on == "age"
    ]
    counting = tuple(rule for rule in rules if rule.hangs_on == "work")
    if counting:
        found.append(_done(item, counting, meters))
    return found


def _done(item: PlanItem, rules: Iterable[Kind], meters: dict[str, str]) -> Asked:
    rules = tuple(rules)
    words = " · ".join(rule_in_words(rule) for rule in rules)
    months = next((_months(one) for one in rules if one.time_interval()), 0)
    if item.anchored and months:
        return Asked(item, "paper", words, "", months)
    meter = next((found[0] for one in rules if (found := one.counted_on())), "")
    return Asked(
        item,
        "done",
        words,
        _until_then(item),
        meter=meter,
        unit=meters.get(meter, ""),
        often=not meter and any(map(_is_often, rules)),
    )


def _months(rule: Kind) -> int:
    span = rule.time_interval()
    return span.months if span else 0


def _is_often(rule: Kind) -> bool:
    span = rule.time_interval()
    if span is None:
        return False
    return span.days <= OFTEN.days if span.days else span.months <= OFTEN.months


def _until_then(item: PlanItem) -> str:
    if item.baseline != BaselineKind.IN_SERVICE:
        return ""
    day = day_words(item.rig.in_service_on)
    return f"Until you enter it, it counts from {day}, when the rig was new."
