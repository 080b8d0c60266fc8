"""“Is it the same work?”: asked before a job is saved that was logged already."""

from collections.abc import Sequence
from dataclasses import dataclass

from maintenance.households.access import row_id
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.same_work import same_work
from maintenance.service_records.services import recorded_with
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig

from .forms import BaseLines, RecordForm

OTHER, PART, LEAVE = "other", "part", "leave"


@dataclass(frozen=True, slots=True)
class Answer:
    """`what` is empty while nobody answered; `record`: the number of the one meant."""

    what: str = ""
    record: int | None = None

    @property
    def is_other(self) -> bool:
        return self.what == OTHER

    @property
    def leave(self) -> bool:
        return self.what == LEAVE

    def among(self, found: Sequence[ServiceRecord]) -> list[ServiceRecord]:
        return [row for row in found if row.pk == self.record]


def logged_already(
    rig: Rig, record: RecordForm, lines: BaseLines
) -> list[ServiceRecord]:
    """Other records that may be of this work; none once this form was saved."""
    data = record.cleaned_data
    if recorded_with(rig, data["form_token"]) is not None:
        return []
    return same_work(
        rig,
        on=data["on"],
        until=data["until"],
        items=[line.item for line in lines.lines() if line.item],
        values=record.values(),
    )


def answer_of(record: RecordForm) -> Answer:
    what, _colon, number = record.cleaned_data["same"].partition(":")
    if what == OTHER:
        return Answer(OTHER)
    pk = row_id(number)
    if what in {PART, LEAVE} and pk is not None:
        return Answer(what, pk)
    return Answer()


def ask_same(record: RecordForm, found: Sequence[ServiceRecord]) -> None:
    choices = [(OTHER, "No, it's different work: record it")]
    for row in found:
        about = {"work": row.summary, "day": day_words(row.on), "who": row.entered_by}
        part = f"Yes, it's “{about['work']}”, {about['day']}: add this to it"
        leave = f"Yes, it's “{about['work']}”, {about['day']}: keep only that one"
        choices += [(f"{PART}:{row.pk}", part), (f"{LEAVE}:{row.pk}", leave)]
    record.ask_same(choices)
    first = found[0]
    record.add_error(
        "same",
        "{who} already recorded “{work}” on {day}.".format(
            who=first.entered_by.name if first.entered_by else "Someone",
            work=first.summary,
            day=day_words(first.on),
        ),
    )
