"""What is known of the time before an item came onto the plan."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import BaselineKind, PlanItem
from maintenance.plans.rule_data import with_life_start
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import refuse_future

from .items import renew

AnswerKind = Literal["done", "never", "unknown", "made"]


@dataclass(frozen=True, slots=True)
class Answer:
    """What an owner knows of an item's past.

    `done` on about that day, at `values`; `never` since the rig entered service;
    `made`: a part of limited life counts from `start`, a day or a month (`2015-04`).
    """

    kind: AnswerKind
    on: date | None = None
    values: Mapping[str, Decimal] = field(default_factory=dict)
    start: str = ""


def state_baseline(
    item: PlanItem,
    *,
    by: Member,
    today: date,
    on: date,
    values: Mapping[str, Decimal] | None = None,
) -> PlanItem:
    """“Done before, on about this day”: counted from, but no record."""
    answer = Answer("done", on, values or {})
    state_baselines(item.rig, by=by, today=today, answers=[(item, answer)])
    return item


@transaction.atomic
def state_baselines(
    rig: Rig, *, by: Member, today: date, answers: Sequence[tuple[PlanItem, Answer]]
) -> int:
    """Many at once; returns how many were given."""
    require(by, Role.KEEPER)
    refuse_dropped(item for item, _answer in answers)
    for item, answer in answers:
        check_answer(item, answer, today=today)
        for name, value in _columns(item, answer).items():
            setattr(item, name, value)
        item.baseline_asked_on = today
        item.save()
    note_activity(by, "added past work", f"{rig}: {len(answers)} answers")
    renew(rig, today)
    return len(answers)


def _columns(item: PlanItem, answer: Answer) -> dict[str, Any]:
    match answer.kind:
        case "made":
            return {"triggers": with_life_start(item.triggers, answer.start)}
        case "done":
            kind, on = BaselineKind.STATED, answer.on
        case "never":
            kind, on = BaselineKind.IN_SERVICE, None
        case "unknown":
            kind, on = BaselineKind.NONE, None
    values = {meter: str(value) for meter, value in answer.values.items()}
    return {"baseline": kind, "baseline_on": on, "baseline_values": values}


def check_answer(item: PlanItem, answer: Answer, *, today: date) -> None:
    """Refused for what cannot be; what meters showed is judged by the gate."""
    if answer.kind == "made":
        refuse_future(_start_of(answer), today, "when")
    if answer.kind != "done":
        return
    if answer.on is None:
        raise Refused("Enter the date too; a year is enough, like 2024.", field="when")
    refuse_future(answer.on, today, "when")
    entered = item.rig.in_service_on
    if answer.on < entered and not item.anchored:
        raise Refused(
            (
                f"The rig entered service on {day_words(entered)}. Enter that "
                "date or a later one."
            ),
            field="when",
        )


def _start_of(answer: Answer) -> date:
    text = answer.start
    return date.fromisoformat(text if len(text) > 7 else f"{text}-01")
